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
    found, over = [], _marks_under(session, project_id)
    for kind, row in ROW_OF.items():
        table = table_of(row)
        columns = [table.c[name] for name in ("id", "body", *KEYS[kind])]
        rows = session.connection().execute(select(*columns).where(table.c.project_id == project_id))
        for id, body, *told in rows:
            noun: Any = noun_of(kind, body)
            filed = [id, *told] == [noun.id, *(read(noun) for read in KEYS[kind].values())]
            if kind is Patch and over.get(id) != {noun.defect_id, *noun.also}:
                filed = False
            if not filed:
                found.append((kind.__name__.lower(), id))
    return found


def _marks_under(session: Session, project_id: str) -> dict[str, set[str]]:
    """By each patch of a project, the marks that its rows say it lies over."""
    patches, marks = table_of(PatchRow), table_of(PatchMarkRow)
    asked = select(marks.c.patch_id, marks.c.defect_id).join(patches, patches.c.id == marks.c.patch_id)
    found: dict[str, set[str]] = {}
    for patch_id, defect_id in session.connection().execute(asked.where(patches.c.project_id == project_id)):
        found.setdefault(patch_id, set()).add(defect_id)
    return found
