"""Ready lists by link as rows: found by the hash of their secret, or by who may see their project."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from service.domain.nouns.kept import ReadyLink
from service.domain.words.refusals import NotFound
from service.storage.history.rows import noun_of
from service.storage.history.seen import SeenProject, project_seen_by
from service.storage.tables.tables import ProjectRow, ReadyLinkRow


@dataclass(frozen=True, slots=True)
class OpenLink:
    """A link that works, the project it tells of, and the newest entry there: its number and time."""

    link_id: str
    project_id: str
    head: int
    head_at: datetime


def by_token(session: Session, token_sha256: str) -> OpenLink:
    """The link with this secret. NotFound, after the same one statement, when there is none or it was
    withdrawn."""
    wanted = (
        select(ReadyLinkRow.body, ProjectRow.id, ProjectRow.seq, ProjectRow.last_at)
        .join(ProjectRow, col(ProjectRow.id) == ReadyLinkRow.project_id)
        .where(ReadyLinkRow.token_sha256 == token_sha256)
    )
    found = session.exec(wanted).first()
    if found is None:
        raise NotFound
    body, project_id, head, head_at = found
    link = noun_of(ReadyLink, body)
    if link.withdrawn is not None:
        raise NotFound
    return OpenLink(link.id, project_id, head, head_at)


def links_of(session: Session, project_id: str) -> list[ReadyLink]:
    """Every ready list of a project, withdrawn ones too, the newest first."""
    bodies = session.exec(select(ReadyLinkRow.body).where(ReadyLinkRow.project_id == project_id))
    found = [noun_of(ReadyLink, body) for body in bodies]
    return sorted(found, key=lambda link: (link.at, link.id), reverse=True)


def link_seen_by(session: Session, person_id: str, link_id: str) -> tuple[SeenProject, ReadyLink]:
    wanted = select(ReadyLinkRow.body, ReadyLinkRow.project_id).where(ReadyLinkRow.id == link_id)
    found = session.exec(wanted).first()
    if found is None:
        raise NotFound
    body, project_id = found
    return project_seen_by(session, person_id, project_id), noun_of(ReadyLink, body)
