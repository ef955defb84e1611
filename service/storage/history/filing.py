"""Whether the columns that rows are found by say what the nouns in them say.

The gate finds the marks of a zone by these columns and decides by what it finds: a mark that is filed under
another zone is nowhere in its own, however well its noun agrees with the history.
"""

from typing import Any

from sqlmodel import Session, select

from service.domain.nouns.site import Patch
from service.storage.history.rows import KEYS, ROW_OF, noun_of
from service.storage.tables.tables import PatchMarkRow, PatchRow, table_of


def misfiled(session: Session, project_id: str) -> list[tuple[str, str]]:
    """The kind and id of every noun of a project whose row, or whose marks under it, are filed otherwise."""
    found = []
    straight = session.connection()
    for kind, row in ROW_OF.items():
        table = table_of(row)
        columns = [table.c[name] for name in ("id", "body", *KEYS[kind])]
        for id, body, *told in straight.execute(select(*columns).where(table.c.project_id == project_id)):
            noun: Any = noun_of(kind, body)
            if [id, *told] != [noun.id, *(read(noun) for read in KEYS[kind].values())]:
                found.append((kind.__name__.lower(), id))
    return found + [("patch", id) for id in _under_others(session, project_id)]


def _under_others(session: Session, project_id: str) -> list[str]:
    """Patches that do not lie over the marks that they were logged over."""
    patches, marks = table_of(PatchRow), table_of(PatchMarkRow)
    straight = session.connection()
    mine = patches.c.project_id == project_id
    lie: dict[str, set[str]] = {}
    over = select(marks.c.patch_id, marks.c.defect_id).join(patches, patches.c.id == marks.c.patch_id)
    for patch_id, defect_id in straight.execute(over.where(mine)):
        lie.setdefault(patch_id, set()).add(defect_id)
    found = []
    for id, body in straight.execute(select(patches.c.id, patches.c.body).where(mine)):
        patch = noun_of(Patch, body)
        if lie.get(id) != {patch.defect_id, *patch.also}:
            found.append(id)
    return found
