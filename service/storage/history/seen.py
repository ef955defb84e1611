"""Lookups that name who is looking: each returns what this person may see, or raises NotFound."""

from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from sqlalchemy import and_, bindparam, or_
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from service.domain.nouns.installed import Lot, Material, Penetration, Seam, Termination
from service.domain.nouns.kept import Photo
from service.domain.nouns.placing import Layout, Readings, Thickness
from service.domain.nouns.roles import CREW_LEAD
from service.domain.nouns.site import Defect, Hold, Noun, Patch, Project, Release, Sketch, Wall, Zone
from service.domain.words.refusals import NotFound
from service.history.replay.replay import GONE
from service.storage.history.rows import noun_of
from service.storage.tables.placing import LayoutRow, ReadingsRow, ThicknessRow
from service.storage.tables.tables import (
    DefectRow,
    HoldRow,
    LotRow,
    MaterialRow,
    MemberRow,
    PatchRow,
    PenetrationRow,
    PersonRow,
    PhotoRow,
    ProjectRow,
    ReleaseRow,
    SeamRow,
    SketchRow,
    TerminationRow,
    WallRow,
    ZoneRow,
)

AnyNoun = TypeVar("AnyNoun", bound=Noun)


@dataclass(frozen=True, slots=True)
class SeenProject:
    """A project as seen by one of its people, and the role they see it in."""

    project: Project
    role: str
    head: int


@dataclass(frozen=True, slots=True)
class SeenSketch(SeenProject):
    sketch: Sketch


@dataclass(frozen=True, slots=True)
class SeenZone(SeenSketch):
    zone: Zone


def projects_of(session: Session, person_id: str) -> list[SeenProject]:
    """Every project this person is on, by name."""
    query = (
        select(ProjectRow.body, MemberRow.role, ProjectRow.seq)
        .join(MemberRow, col(MemberRow.project_id) == ProjectRow.id)
        .where(MemberRow.id == person_id, MemberRow.role != GONE, *_by_code(session))
    )
    found = [SeenProject(noun_of(Project, body), role, seq) for body, role, seq in session.exec(query)]
    return sorted(found, key=lambda seen: (seen.project.name.casefold(), seen.project.id))


def project_seen_by(session: Session, person_id: str, project_id: str) -> SeenProject:
    query = (
        select(ProjectRow.body, MemberRow.role, ProjectRow.seq)
        .join(MemberRow, col(MemberRow.project_id) == ProjectRow.id)
        .where(ProjectRow.id == project_id, MemberRow.id == person_id, MemberRow.role != GONE)
        .where(*_by_code(session))
    )
    body, role, seq = _one(session, query)
    return SeenProject(noun_of(Project, body), role, seq)


def sketch_seen_by(session: Session, person_id: str, sketch_id: str) -> SeenSketch:
    query = (
        select(ProjectRow.body, MemberRow.role, ProjectRow.seq, SketchRow.body)
        .join(MemberRow, col(MemberRow.project_id) == ProjectRow.id)
        .join(SketchRow, col(SketchRow.project_id) == ProjectRow.id)
        .where(SketchRow.id == sketch_id, MemberRow.id == person_id, MemberRow.role != GONE)
        .where(*_by_code(session))
    )
    project, role, seq, sketch = _one(session, query)
    return SeenSketch(noun_of(Project, project), role, seq, noun_of(Sketch, sketch))


def _seen(*more: Any) -> Any:
    """Project, role, head, sketch and zone of what this person may see, with further columns; no zone yet."""
    return (
        columns(ProjectRow.body, MemberRow.role, ProjectRow.seq, SketchRow.body, ZoneRow.body, *more)  # type: ignore[call-overload]  # columns, not rows
        .join(MemberRow, col(MemberRow.project_id) == ProjectRow.id)
        .join(ZoneRow, col(ZoneRow.project_id) == ProjectRow.id)
        .join(SketchRow, col(SketchRow.id) == ZoneRow.sketch_id)
        .where(
            MemberRow.id == bindparam("person"),
            MemberRow.role != GONE,
            or_(
                bindparam("only") == "",
                and_(col(MemberRow.project_id) == bindparam("only"), col(MemberRow.role) == CREW_LEAD),
            ),
        )
    )


# Built once: these stand behind every page of a zone and of what is in it.
_ZONE_SEEN = _seen().where(ZoneRow.id == bindparam("zone"))


@cache
def _with_zone_seen(table: Any) -> Any:
    """A row of this table with the zone it is in."""
    return _seen(table.body).join(table, table.zone_id == ZoneRow.id).where(table.id == bindparam("noun"))


_NAMES_IN = (
    columns(PersonRow.id, PersonRow.name)  # type: ignore[call-overload]  # columns, not rows
    .join(MemberRow, col(MemberRow.id) == PersonRow.id)
    .where(MemberRow.project_id == bindparam("project"), PersonRow.name != "")
)


def zone_seen_by(session: Session, person_id: str, zone_id: str) -> SeenZone:
    return _zone_of(_asked(session, _ZONE_SEEN, person_id, zone=zone_id))


def _asked(session: Session, query: Any, person_id: str, **of: str) -> Any:
    asked = {**of, "person": person_id, "only": session.info.get("only", "")}
    found = session.connection().execute(query, asked).first()
    if found is None:
        raise NotFound
    return found


def _zone_of(found: Any) -> SeenZone:
    project, role, seq, sketch, zone = found[:5]
    return SeenZone(noun_of(Project, project), role, seq, noun_of(Sketch, sketch), noun_of(Zone, zone))


def _in_zone(
    session: Session, person_id: str, kind: type[AnyNoun], table: Any, noun_id: str
) -> tuple[SeenZone, AnyNoun]:
    """The zone and what is in it, of one moment, in one statement."""
    found = _asked(session, _with_zone_seen(table), person_id, noun=noun_id)
    return _zone_of(found), noun_of(kind, found[5])


def defect_seen_by(session: Session, person_id: str, defect_id: str) -> tuple[SeenZone, Defect]:
    return _in_zone(session, person_id, Defect, DefectRow, defect_id)


def patch_seen_by(session: Session, person_id: str, patch_id: str) -> tuple[SeenZone, Patch]:
    return _in_zone(session, person_id, Patch, PatchRow, patch_id)


def wall_seen_by(session: Session, person_id: str, wall_id: str) -> tuple[SeenZone, Wall]:
    return _in_zone(session, person_id, Wall, WallRow, wall_id)


def hold_seen_by(session: Session, person_id: str, hold_id: str) -> tuple[SeenZone, Hold]:
    return _in_zone(session, person_id, Hold, HoldRow, hold_id)


def release_seen_by(session: Session, person_id: str, release_id: str) -> tuple[SeenZone, Release]:
    return _in_zone(session, person_id, Release, ReleaseRow, release_id)


def penetration_seen_by(
    session: Session, person_id: str, penetration_id: str
) -> tuple[SeenZone, Penetration]:
    return _in_zone(session, person_id, Penetration, PenetrationRow, penetration_id)


def seam_seen_by(session: Session, person_id: str, seam_id: str) -> tuple[SeenZone, Seam]:
    return _in_zone(session, person_id, Seam, SeamRow, seam_id)


def termination_seen_by(
    session: Session, person_id: str, termination_id: str
) -> tuple[SeenZone, Termination]:
    return _in_zone(session, person_id, Termination, TerminationRow, termination_id)


def readings_seen_by(session: Session, person_id: str, readings_id: str) -> tuple[SeenZone, Readings]:
    return _in_zone(session, person_id, Readings, ReadingsRow, readings_id)


def thickness_seen_by(session: Session, person_id: str, thickness_id: str) -> tuple[SeenZone, Thickness]:
    return _in_zone(session, person_id, Thickness, ThicknessRow, thickness_id)


def material_seen_by(session: Session, person_id: str, material_id: str) -> tuple[SeenProject, Material]:
    row = _one(session, select(MaterialRow).where(MaterialRow.id == material_id))
    return project_seen_by(session, person_id, row.project_id), noun_of(Material, row.body)


def lot_seen_by(session: Session, person_id: str, lot_id: str) -> tuple[SeenProject, Lot]:
    row = _one(session, select(LotRow).where(LotRow.id == lot_id))
    return project_seen_by(session, person_id, row.project_id), noun_of(Lot, row.body)


def layout_seen_by(session: Session, person_id: str, layout_id: str) -> tuple[SeenSketch, Layout]:
    layout = noun_of(Layout, _body(session, LayoutRow, layout_id))
    return sketch_seen_by(session, person_id, layout.sketch_id), layout


def photo_seen_by(session: Session, person_id: str, photo_id: str) -> Photo:
    return _in_zone(session, person_id, Photo, PhotoRow, photo_id)[1]


def names_in(session: Session, project_id: str) -> dict[str, str]:
    """The names of everybody who is or was on a project, by person id; an erased one is not there."""
    named = session.connection().execute(_NAMES_IN, {"project": project_id})
    return {person: name for person, name in named}


def _by_code(session: Session) -> tuple[Any, ...]:
    """What a sign-in by a crew's code sees: its one project, as crew lead, whatever else the person is."""
    only = session.info.get("only", "")
    return (MemberRow.project_id == only, MemberRow.role == CREW_LEAD) if only else ()


def _body(session: Session, table: Any, noun_id: str) -> str:
    found: str = _one(session, select(table.body).where(table.id == noun_id))
    return found


def _one(session: Session, query: Any) -> Any:
    found = session.exec(query).first()
    if found is None:
        raise NotFound
    return found
