"""The slice of a site that a question needs, read from the tables in a few statements however many rows."""

from functools import cache
from typing import Any

from sqlalchemy import Float, and_, bindparam, false, literal, or_, union_all
from sqlmodel import Session, col, select

from service.domain.refusals import NotFound
from service.domain.site import (
    Defect,
    Hold,
    Member,
    Noun,
    Patch,
    Photo,
    Project,
    Release,
    Site,
    Sketch,
    Wall,
    Zone,
)
from service.domain.zone_facts import MILLI, nm_per_px
from service.storage import rows
from service.storage.tables import (
    DefectRow,
    HoldRow,
    MemberRow,
    PatchMarkRow,
    PatchRow,
    PhotoRow,
    ProjectRow,
    ReleaseRow,
    SketchRow,
    WallRow,
    ZoneRow,
)

_SMALL: dict[str, type] = {
    "wall": Wall, "hold": Hold, "release": Release, "photo": Photo,
    "zone": Zone, "member": Member, "sketch": Sketch,
}  # fmt: skip


def whole_site(session: Session, project_id: str) -> Site:
    """Every fact of a project, from the tables: what a replay of its history must equal."""
    site = _site_of_project(session, project_id)
    _put_small(
        session,
        site,
        *(
            _bodies(kind, table, table.project_id == project_id)
            for kind, table in (
                ("member", MemberRow), ("sketch", SketchRow), ("zone", ZoneRow), ("wall", WallRow),
                ("hold", HoldRow), ("release", ReleaseRow), ("photo", PhotoRow),
            )
        ),
    )  # fmt: skip
    _put(session, site, Defect, select(DefectRow.body).where(DefectRow.project_id == project_id))
    _put(session, site, Patch, select(PatchRow.body).where(PatchRow.project_id == project_id))
    return site


def project_site(session: Session, project_id: str) -> Site:
    """The project with its people, sketches and zones; no marks."""
    site = _site_of_project(session, project_id)
    _put_small(
        session,
        site,
        _bodies("member", MemberRow, MemberRow.project_id == project_id),
        _bodies("sketch", SketchRow, SketchRow.project_id == project_id),
        _bodies("zone", ZoneRow, ZoneRow.project_id == project_id),
    )
    return site


def zone_site(
    session: Session, project_id: str, zone: Zone, sketch: Sketch, project: Project | None = None
) -> Site:
    """All that one zone's page, gate and actions need: the zone, its sketch with the other zones' outlines,
    and the marks and patches that may reach into it. Four statements, however many rows."""
    site = Site(project=project) if project else _site_of_project(session, project_id)
    site.put(sketch)
    given = {"project": project_id, "zone": zone.id, "sketch": sketch.id, **_box(zone, sketch)}
    small, patches, defects = _of_zone(scaled=sketch.scale is not None)
    straight = session.connection()  # columns need no mapper, which costs as much as the statement
    for kind, body in straight.execute(small, given):
        found: Noun = rows.noun_of(_SMALL[kind], body)
        site.put(found)
    found_patches = (rows.noun_of(Patch, body) for body in straight.execute(patches, given).scalars())
    site.patches = {patch.id: patch for patch in found_patches}
    found_defects = (rows.noun_of(Defect, body) for body in straight.execute(defects, given).scalars())
    site.defects = {defect.id: defect for defect in found_defects}
    return site


_GIVEN: tuple[Any, Any, Any] = (bindparam("project"), bindparam("zone"), bindparam("sketch"))


@cache
def _of_zone(*, scaled: bool) -> tuple[Any, Any, Any]:
    """The three statements of `zone_site`, built once: building them took as long as running them."""
    project, zone, sketch = _GIVEN
    small = union_all(
        _bodies("member", MemberRow, MemberRow.project_id == project),
        _bodies("zone", ZoneRow, ZoneRow.sketch_id == sketch),
        _bodies("wall", WallRow, WallRow.sketch_id == sketch),
        _bodies("hold", HoldRow, HoldRow.zone_id == zone),
        _bodies("release", ReleaseRow, ReleaseRow.zone_id == zone),
        _bodies("photo", PhotoRow, PhotoRow.zone_id == zone),
    )
    foreign = and_(col(DefectRow.zone_id) != zone, _may_reach(scaled))
    # A patch has the zone of the mark it was logged on, so only a neighbour's can lie here unseen: one with
    # a mark of this zone, or one that reaches in, under it. The mark it was logged on comes along, wherever
    # it lies, for its sides are told from there.
    under = (
        select(PatchRow.id)
        .join(PatchMarkRow, col(PatchMarkRow.patch_id) == PatchRow.id)
        .join(DefectRow, col(DefectRow.id) == PatchMarkRow.defect_id)
        .where(col(PatchRow.zone_id) != zone, or_(col(DefectRow.zone_id) == zone, foreign))
    )
    primaries = select(PatchRow.defect_id).where(col(PatchRow.id).in_(under))
    return (
        small,
        union_all(
            select(PatchRow.body).where(PatchRow.zone_id == zone),
            select(PatchRow.body).where(col(PatchRow.id).in_(under)),
        ),
        union_all(
            select(DefectRow.body).where(DefectRow.zone_id == zone),
            select(DefectRow.body).where(foreign),
            select(DefectRow.body).where(col(DefectRow.id).in_(primaries)),
        ),
    )


def sketch_site(session: Session, project_id: str, sketch_id: str) -> Site:
    """A sketch with everything on it: for changes that touch all its zones, and for lists of zones."""
    site = project_site(session, project_id)
    zones = select(ZoneRow.id).where(ZoneRow.sketch_id == sketch_id)
    _put_small(
        session,
        site,
        _bodies("wall", WallRow, WallRow.sketch_id == sketch_id),
        _bodies("hold", HoldRow, col(HoldRow.zone_id).in_(zones)),
        _bodies("release", ReleaseRow, col(ReleaseRow.zone_id).in_(zones)),
    )
    _put(session, site, Defect, select(DefectRow.body).where(DefectRow.sketch_id == sketch_id))
    _put(session, site, Patch, select(PatchRow.body).where(col(PatchRow.zone_id).in_(zones)))
    return site


def _may_reach(scaled: bool) -> Any:
    """Marks of the sketch near enough to the zone's box that their outline may reach in."""
    if not scaled:
        return false()
    far = col(DefectRow.reach_nm) * bindparam("px_per_nm", type_=Float) + MILLI
    return and_(
        col(DefectRow.sketch_id) == _GIVEN[2],
        col(DefectRow.x) + far >= bindparam("left", type_=Float),
        col(DefectRow.x) - far <= bindparam("right", type_=Float),
        col(DefectRow.y) + far >= bindparam("top", type_=Float),
        col(DefectRow.y) - far <= bindparam("bottom", type_=Float),
    )


def _box(zone: Zone, sketch: Sketch) -> dict[str, float]:
    """What `_may_reach` is asked with: the zone's box in thousandths of a pixel, and the sketch's scale."""
    if sketch.scale is None:
        return {}
    xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
    px_per_nm = MILLI / nm_per_px(sketch.scale)
    return {"px_per_nm": px_per_nm, "left": min(xs), "right": max(xs), "top": min(ys), "bottom": max(ys)}


def _site_of_project(session: Session, project_id: str) -> Site:
    body = session.exec(select(ProjectRow.body).where(ProjectRow.id == project_id)).first()
    if body is None:
        raise NotFound
    return Site(project=rows.noun_of(Project, body) if body else None)


def _bodies(kind: str, table: Any, wanted: Any) -> Any:
    return select(literal(kind).label("kind"), table.body).where(wanted)


def _put_small(session: Session, site: Site, *queries: Any) -> None:
    for kind, body in session.execute(union_all(*queries)):
        site.put(rows.noun_of(_SMALL[kind], body))


def _put(session: Session, site: Site, kind: type, query: Any) -> None:
    for body in session.exec(query):
        site.put(rows.noun_of(kind, body))
