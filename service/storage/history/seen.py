"""Lookups that name who is looking: each returns what this person may see, or raises NotFound."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, bindparam, or_
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from service.domain.nouns.installed import Lot, Material, Penetration, Seam, Termination
from service.domain.nouns.kept import Photo
from service.domain.nouns.placing import Layout, Readings, Thickness
from service.domain.nouns.roles import CREW_LEAD
from service.domain.nouns.site import Defect, Hold, Patch, Project, Release, Sketch, Wall, Zone
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


# Built once: these two stand behind every page of a zone.
_ZONE_SEEN = (
    columns(ProjectRow.body, MemberRow.role, ProjectRow.seq, SketchRow.body, ZoneRow.body)  # type: ignore[call-overload]  # columns, not rows
    .join(MemberRow, col(MemberRow.project_id) == ProjectRow.id)
    .join(ZoneRow, col(ZoneRow.project_id) == ProjectRow.id)
    .join(SketchRow, col(SketchRow.id) == ZoneRow.sketch_id)
    .where(
        ZoneRow.id == bindparam("zone"),
        MemberRow.id == bindparam("person"),
        MemberRow.role != GONE,
        or_(
            bindparam("only") == "",
            and_(col(MemberRow.project_id) == bindparam("only"), col(MemberRow.role) == CREW_LEAD),
        ),
    )
)
_NAMES_IN = (
    columns(PersonRow.id, PersonRow.name)  # type: ignore[call-overload]  # columns, not rows
    .join(MemberRow, col(MemberRow.id) == PersonRow.id)
    .where(MemberRow.project_id == bindparam("project"), PersonRow.name != "")
)


def zone_seen_by(session: Session, person_id: str, zone_id: str) -> SeenZone:
    asked = {"zone": zone_id, "person": person_id, "only": session.info.get("only", "")}
    found = session.connection().execute(_ZONE_SEEN, asked).first()
    if found is None:
        raise NotFound
    project, role, seq, sketch, zone = found
    return SeenZone(noun_of(Project, project), role, seq, noun_of(Sketch, sketch), noun_of(Zone, zone))


def defect_seen_by(session: Session, person_id: str, defect_id: str) -> tuple[SeenZone, Defect]:
    defect = noun_of(Defect, _body(session, DefectRow, defect_id))
    return zone_seen_by(session, person_id, defect.zone_id), defect


def patch_seen_by(session: Session, person_id: str, patch_id: str) -> tuple[SeenZone, Patch]:
    patch = noun_of(Patch, _body(session, PatchRow, patch_id))
    return zone_seen_by(session, person_id, patch.zone_id), patch


def wall_seen_by(session: Session, person_id: str, wall_id: str) -> tuple[SeenZone, Wall]:
    wall = noun_of(Wall, _body(session, WallRow, wall_id))
    return zone_seen_by(session, person_id, wall.zone_id), wall


def hold_seen_by(session: Session, person_id: str, hold_id: str) -> tuple[SeenZone, Hold]:
    hold = noun_of(Hold, _body(session, HoldRow, hold_id))
    return zone_seen_by(session, person_id, hold.zone_id), hold


def release_seen_by(session: Session, person_id: str, release_id: str) -> tuple[SeenZone, Release]:
    release = noun_of(Release, _body(session, ReleaseRow, release_id))
    return zone_seen_by(session, person_id, release.zone_id), release


def penetration_seen_by(
    session: Session, person_id: str, penetration_id: str
) -> tuple[SeenZone, Penetration]:
    penetration = noun_of(Penetration, _body(session, PenetrationRow, penetration_id))
    return zone_seen_by(session, person_id, penetration.zone_id), penetration


def seam_seen_by(session: Session, person_id: str, seam_id: str) -> tuple[SeenZone, Seam]:
    seam = noun_of(Seam, _body(session, SeamRow, seam_id))
    return zone_seen_by(session, person_id, seam.zone_id), seam


def termination_seen_by(
    session: Session, person_id: str, termination_id: str
) -> tuple[SeenZone, Termination]:
    termination = noun_of(Termination, _body(session, TerminationRow, termination_id))
    return zone_seen_by(session, person_id, termination.zone_id), termination


def readings_seen_by(session: Session, person_id: str, readings_id: str) -> tuple[SeenZone, Readings]:
    readings = noun_of(Readings, _body(session, ReadingsRow, readings_id))
    return zone_seen_by(session, person_id, readings.zone_id), readings


def thickness_seen_by(session: Session, person_id: str, thickness_id: str) -> tuple[SeenZone, Thickness]:
    thickness = noun_of(Thickness, _body(session, ThicknessRow, thickness_id))
    return zone_seen_by(session, person_id, thickness.zone_id), thickness


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
    photo = noun_of(Photo, _body(session, PhotoRow, photo_id))
    zone_seen_by(session, person_id, photo.zone_id)
    return photo


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
