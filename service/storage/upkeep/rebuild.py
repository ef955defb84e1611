"""Write every noun's row anew from the history: a newer program may say more in the tables."""

from sqlmodel import Session

from service.domain.nouns.site import SHELVES, Member, Project, Sketch, Zone
from service.history.replay.replay import replay
from service.storage.history import books, ledger, rows, trees

# In the order of their keys: what others point at is written first.
_FIRST: tuple[type, ...] = (Member, Sketch, Zone)


def rebuild(session: Session) -> None:
    """Replay every project's history and write what comes of it. Rows are replaced, never taken away.

    A history that was written before there were trees gets its tree.
    """
    for project_id in ledger.project_ids(session):
        head = books.lock_head(session, project_id)
        if head.seq and head.peaks is None:
            trees.plant(session, head)
        site = replay(books.entries(session, project_id))
        kinds = (*_FIRST, *(kind for kind in SHELVES if kind not in _FIRST))
        project: tuple[Project, ...] = () if site.project is None else (site.project,)
        rows.write(session, project_id, project)
        for kind in kinds:
            rows.write(session, project_id, site.shelf(kind).values())
