"""What is read from the tables onto a site that was read before: a few of its nouns, and no more."""

from typing import Any

from sqlalchemy import literal, union_all
from sqlmodel import Session, select

from service.domain.nouns.installed import Lot, Material, Penetration, Seam, Termination
from service.domain.nouns.kept import Photo, ReadyLink
from service.domain.nouns.placing import Layout, OrderPlan, PlacingPlan, Readings, Thickness
from service.domain.nouns.site import Defect, Hold, Member, Noun, Release, Site, Sketch, Wall, Zone
from service.storage.history import rows
from service.storage.tables.placing import LayoutRow, OrderPlanRow, PlacingPlanRow, ReadingsRow, ThicknessRow
from service.storage.tables.tables import DefectRow, LotRow, MaterialRow, ZoneRow

_SMALL: dict[str, type] = {
    "wall": Wall, "hold": Hold, "release": Release, "photo": Photo, "zone": Zone, "member": Member,
    "sketch": Sketch, "penetration": Penetration, "seam": Seam, "termination": Termination,
    "material": Material, "lot": Lot, "ready_link": ReadyLink, "layout": Layout, "placing_plan": PlacingPlan,
    "readings": Readings, "thickness": Thickness, "order_plan": OrderPlan,
}  # fmt: skip
# What plans the film and the placing: no rule of the gate reads it, so a zone's slice goes without.
PLANNING: dict[str, Any] = {
    "layout": LayoutRow,
    "placing_plan": PlacingPlanRow,
    "readings": ReadingsRow,
    "thickness": ThicknessRow,
    "order_plan": OrderPlanRow,
}


def bodies(kind: str, table: Any, wanted: Any) -> Any:
    """The nouns of a small kind that are wanted, to be asked for together with those of other kinds."""
    return select(literal(kind).label("kind"), table.body).where(wanted)


def small_of(kind: str, body: str) -> Noun:
    """A row of `bodies` as its noun."""
    found: Noun = rows.noun_of(_SMALL[kind], body)
    return found


def put_small(session: Session, site: Site, *queries: Any) -> None:
    """All that these `bodies` want, in one statement."""
    for kind, body in session.execute(union_all(*queries)):
        site.put(small_of(kind, body))


def put_all(session: Session, site: Site, kind: type, query: Any) -> None:
    """Every noun of one kind whose body the query gives."""
    for body in session.exec(query):
        site.put(rows.noun_of(kind, body))


def put_film(session: Session, site: Site, project_id: str) -> None:
    """The project's materials and lots: onto a site read before."""
    put_small(
        session,
        site,
        bodies("material", MaterialRow, MaterialRow.project_id == project_id),
        bodies("lot", LotRow, LotRow.project_id == project_id),
    )


def put_zones(session: Session, site: Site, sketch_id: str) -> None:
    """Every zone of a sketch: onto a site read before."""
    put_small(session, site, bodies("zone", ZoneRow, ZoneRow.sketch_id == sketch_id))


def put_mark(session: Session, site: Site, defect_id: str) -> None:
    """One mark, if there is such a one: onto a site read before."""
    put_all(session, site, Defect, select(DefectRow.body).where(DefectRow.id == defect_id))


def put_layouts(session: Session, site: Site, project_id: str) -> None:
    """The project's layouts, with what was laid of each, its order plan and the plans of its placings: onto a
    site read before."""
    wanted = ("layout", "order_plan", "placing_plan")
    put_small(
        session,
        site,
        *(bodies(kind, PLANNING[kind], PLANNING[kind].project_id == project_id) for kind in wanted),
    )


def put_placing(session: Session, site: Site, zone_id: str) -> None:
    """One zone's placing: its plan and its readings, onto a site read before."""
    wanted = ("placing_plan", "readings", "thickness")
    put_small(
        session,
        site,
        *(bodies(kind, PLANNING[kind], PLANNING[kind].zone_id == zone_id) for kind in wanted),
    )
