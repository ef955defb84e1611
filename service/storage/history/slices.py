"""The slice of a site that a question needs, read from the tables in a few statements however many rows."""

from functools import cache
from typing import Any

from sqlalchemy import BigInteger, Float, and_, bindparam, false, literal, or_, union_all
from sqlmodel import Session, col, select

from service.domain.gate.zone_facts import BESIDE_NM, MILLI, nm_per_px
from service.domain.nouns.installed import Px
from service.domain.nouns.kept import Photo
from service.domain.nouns.site import (
    Defect,
    Patch,
    Project,
    Site,
    Sketch,
    Zone,
)
from service.domain.shapes.outlines import reach_nm
from service.domain.words.refusals import NotFound
from service.storage.history import onto, rows
from service.storage.tables.tables import (
    DefectRow,
    HoldRow,
    LotRow,
    MaterialRow,
    MemberRow,
    PatchMarkRow,
    PatchRow,
    PenetrationRow,
    PhotoRow,
    ProjectRow,
    ReadyLinkRow,
    ReleaseRow,
    SeamRow,
    SketchRow,
    TerminationRow,
    WallRow,
    ZoneRow,
)

# What lies on a sketch, and the tables that hold it.
_ON_SKETCH: tuple[tuple[str, Any], ...] = (
    ("penetration", PenetrationRow), ("seam", SeamRow), ("termination", TerminationRow),
)  # fmt: skip
# Penetrations are kept by their middle: one as broad as this (10 ft) is still found from beside it.
BROADEST_NM = 3_048_000_000


def whole_site(session: Session, project_id: str) -> Site:
    """Every fact of a project, from the tables: what a replay of its history must equal."""
    site = judged_site(session, project_id)
    onto.put_all(session, site, Photo, select(PhotoRow.body).where(PhotoRow.project_id == project_id))
    return site


def judged_site(session: Session, project_id: str, project: Project | None = None) -> Site:
    """Every fact of a project but its photos, which are most of its rows and which no rule reads.

    Three statements where the `project` was read before, else four.
    """
    site = Site(project=project) if project else _site_of_project(session, project_id)
    onto.put_small(
        session,
        site,
        *(
            onto.bodies(kind, table, table.project_id == project_id)
            for kind, table in (
                ("member", MemberRow), ("sketch", SketchRow), ("zone", ZoneRow), ("wall", WallRow),
                ("hold", HoldRow), ("release", ReleaseRow), ("material", MaterialRow), ("lot", LotRow),
                ("ready_link", ReadyLinkRow), *_ON_SKETCH, *onto.PLANNING.items(),
            )
        ),
    )  # fmt: skip
    onto.put_all(session, site, Defect, select(DefectRow.body).where(DefectRow.project_id == project_id))
    onto.put_all(session, site, Patch, select(PatchRow.body).where(PatchRow.project_id == project_id))
    return site


def project_site(session: Session, project_id: str, project: Project | None = None) -> Site:
    """The project, unless it was read before, with its people, sketches and zones; no marks."""
    site = Site(project=project) if project else _site_of_project(session, project_id)
    onto.put_small(session, site, *_people_and_zones(project_id))
    return site


def _people_and_zones(project_id: str) -> tuple[Any, ...]:
    return (
        onto.bodies("member", MemberRow, MemberRow.project_id == project_id),
        onto.bodies("sketch", SketchRow, SketchRow.project_id == project_id),
        onto.bodies("zone", ZoneRow, ZoneRow.project_id == project_id),
    )


def film_site(session: Session, project_id: str) -> Site:
    """The project with its people, sketches and zones, and its materials and lots; no marks."""
    site = project_site(session, project_id)
    onto.put_film(session, site, project_id)
    return site


def order_site(session: Session, project_id: str) -> Site:
    """All that an order list is worked out from: zones, film, what is installed, layouts; no marks."""
    site = film_site(session, project_id)
    on_sketches = (onto.bodies(kind, table, table.project_id == project_id) for kind, table in _ON_SKETCH)
    onto.put_small(session, site, *on_sketches)
    onto.put_layouts(session, site, project_id)
    return site


def zone_site(
    session: Session, project_id: str, zone: Zone, sketch: Sketch, project: Project | None = None
) -> Site:
    """All that one zone's page, gate and actions need: the zone, its sketch with the other zones' outlines,
    the marks and patches that may reach into it, and what is installed near. Three statements, however many
    rows."""
    site = Site(project=project) if project else _site_of_project(session, project_id)
    site.put(sketch)
    given = {"project": project_id, "zone": zone.id, "sketch": sketch.id, **_box(zone, sketch)}
    small, marked = _of_zone(scaled=sketch.scale is not None)
    straight = session.connection()  # columns need no mapper, which costs as much as the statement
    for kind, body in straight.execute(small, given):
        site.put(onto.small_of(kind, body))
    for is_patch, body in straight.execute(marked, given):
        if is_patch:
            patch = rows.noun_of(Patch, body)
            site.patches[patch.id] = patch
        else:
            defect = rows.noun_of(Defect, body)
            site.defects[defect.id] = defect
    near = {**given, **_box_round(site, zone, sketch)}
    for kind, body in straight.execute(_near(), near):
        site.put(onto.small_of(kind, body))
    return site


def _box_round(site: Site, zone: Zone, sketch: Sketch) -> dict[str, int]:
    """The box of the zone and of every mark loaded, with room round it for what a mark has to reach."""
    places: list[tuple[Px, int]] = [(corner, 0) for corner in zone.outline]
    room = 0
    if sketch.scale is not None:
        px_per_nm = MILLI / nm_per_px(sketch.scale)
        room = round(BROADEST_NM * px_per_nm)
        places += [(mark.at, round(reach_nm(mark.outline) * px_per_nm)) for mark in site.defects.values()]
    return {
        "left": min(x - far for (x, _), far in places) - room,
        "right": max(x + far for (x, _), far in places) + room,
        "top": min(y - far for (_, y), far in places) - room,
        "bottom": max(y + far for (_, y), far in places) + room,
    }


def _side(name: str) -> Any:
    return bindparam(name, type_=BigInteger)


@cache
def _near() -> Any:
    """What is installed in the zone and near its marks, and the project's materials and lots."""
    project, zone, sketch = _GIVEN
    left, right, top, bottom = (_side(name) for name in ("left", "right", "top", "bottom"))
    return union_all(
        *(
            onto.bodies(
                kind,
                table,
                or_(
                    col(table.zone_id) == zone,
                    and_(
                        col(table.sketch_id) == sketch,
                        col(table.x0) <= right,
                        col(table.x1) >= left,
                        col(table.y0) <= bottom,
                        col(table.y1) >= top,
                    ),
                ),
            )
            for kind, table in _ON_SKETCH
        ),
        onto.bodies("material", MaterialRow, MaterialRow.project_id == project),
        onto.bodies("lot", LotRow, LotRow.project_id == project),
    )


_GIVEN: tuple[Any, Any, Any] = (bindparam("project"), bindparam("zone"), bindparam("sketch"))


@cache
def _of_zone(*, scaled: bool) -> tuple[Any, Any]:
    """Two of the statements of `zone_site`, built once: building them took as long as running them."""
    project, zone, sketch = _GIVEN
    small = union_all(
        onto.bodies("member", MemberRow, MemberRow.project_id == project),
        onto.bodies("zone", ZoneRow, ZoneRow.sketch_id == sketch),
        onto.bodies("wall", WallRow, WallRow.sketch_id == sketch),
        onto.bodies("hold", HoldRow, HoldRow.zone_id == zone),
        onto.bodies("release", ReleaseRow, ReleaseRow.zone_id == zone),
        onto.bodies("photo", PhotoRow, PhotoRow.zone_id == zone),
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
            select(literal(1), PatchRow.body).where(PatchRow.zone_id == zone),
            select(literal(1), PatchRow.body).where(col(PatchRow.id).in_(under)),
            select(literal(0), DefectRow.body).where(DefectRow.zone_id == zone),
            select(literal(0), DefectRow.body).where(foreign),
            select(literal(0), DefectRow.body).where(col(DefectRow.id).in_(primaries)),
        ),
    )


def sketch_site(session: Session, project_id: str, sketch_id: str, project: Project | None = None) -> Site:
    """A sketch with everything on it: for changes that touch all its zones, and for lists of zones.

    Three statements where the `project` was read before, else four.
    """
    site = Site(project=project) if project else _site_of_project(session, project_id)
    zones = select(ZoneRow.id).where(ZoneRow.sketch_id == sketch_id)
    onto.put_small(
        session,
        site,
        *_people_and_zones(project_id),
        onto.bodies("wall", WallRow, WallRow.sketch_id == sketch_id),
        onto.bodies("hold", HoldRow, col(HoldRow.zone_id).in_(zones)),
        onto.bodies("release", ReleaseRow, col(ReleaseRow.zone_id).in_(zones)),
        onto.bodies("material", MaterialRow, MaterialRow.project_id == project_id),
        onto.bodies("lot", LotRow, LotRow.project_id == project_id),
        *(onto.bodies(kind, table, table.sketch_id == sketch_id) for kind, table in _ON_SKETCH),
    )
    onto.put_all(session, site, Defect, select(DefectRow.body).where(DefectRow.sketch_id == sketch_id))
    onto.put_all(session, site, Patch, select(PatchRow.body).where(col(PatchRow.zone_id).in_(zones)))
    return site


def _may_reach(scaled: bool) -> Any:
    """Marks so near the zone's box that they may reach in, or that its patches' tape may cross."""
    if not scaled:
        return false()
    far = (col(DefectRow.reach_nm) + BESIDE_NM) * bindparam("px_per_nm", type_=Float) + 2 * MILLI
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
