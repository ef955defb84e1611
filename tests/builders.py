"""Sites to test on, built through the real actions: a sketch with a scale, zones, marks, patches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.actions.film import film, layout_keeping, sheets_laid
from service.actions.film.layout_ground import ground_of_layout
from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.actions.frame.reading import zone_view
from service.actions.installed import penetrations, seams, terminations
from service.actions.marks import defects, patches, repairs
from service.actions.office import release
from service.actions.placing import placing_day
from service.actions.sketches import zones
from service.domain.nouns.installed import (
    TO_WALL,
    Laying,
    Lot,
    Material,
    Penetration,
    Repair,
    Seam,
    Termination,
)
from service.domain.nouns.placing import Layout, PlacingPlan, Readings, Thickness
from service.domain.nouns.site import Defect, Patch, Px, Release, Scale, Zone
from service.history.facts.facts import ScaleSet, SketchAdded
from tests.cast import Cast

# 10 px of the sketch is 1 ft, so 1 px is 1.2 in.
WIDTH_PX, HEIGHT_PX = 3000, 2000
SQUARE: Sequence[Sequence[float]] = ((100, 100), (900, 100), (900, 700), (100, 700))
NEXT_DOOR: Sequence[Sequence[float]] = ((900, 100), (1700, 100), (1700, 700), (900, 700))
FOOT_NM = 304_800_000

TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
SLIT = {"shape": "slit", "length": "3 ft"}
HOLE = {"shape": "circle", "diameter": "1/2 in"}
# More than class A of ASTM E1745 asks: 45 lbf/in, 2200 g, 0.1 perm.
FILM_A = {
    "kind": "film", "name": "Submittal 3", "claimed_class": "A", "permeance": "0.01 perm",
    "tensile": "50 lbf/in", "puncture": "2300 g", "thickness": "15 mil",
}  # fmt: skip
WELL_MADE = {"cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in"}
LAPPED = {
    "method": "lap again", "lap": "6 in", "taped": True, "cleaned": True, "dry": True, "tape_width": "4 in",
}  # fmt: skip


def a_sketch(desk: Desk, cast: Cast, *, scaled: bool = True) -> str:
    """A sketch without a picture behind it, 3,000 by 2,000 px at 10 px to the foot. Its id."""
    sketch = desk.new_id()
    by = cast.manager.id
    with desk.writing() as session:
        seen, site = project_to_change(session, by, cast.project_id, "add a sketch")
        added = SketchAdded(sketch, "Slab", "0" * 64, None, WIDTH_PX, HEIGHT_PX, 5)
        record(desk, session, site, by, seen.role, added)
        if scaled:
            scale = Scale(_px(0, 0), _px(1000, 0), 100 * FOOT_NM)
            record(desk, session, site, by, seen.role, ScaleSet(sketch, scale))
    return sketch


def _px(x: float, y: float) -> Px:
    return round(x * 1000), round(y * 1000)


def a_zone(
    desk: Desk,
    cast: Cast,
    sketch: str | None = None,
    letter: str = "B",
    outline: Sequence[Sequence[float]] = SQUARE,
) -> Zone:
    """A zone of 80 by 60 ft, walked by nobody yet."""
    return zones.outline_zone(
        desk, cast.manager.id, sketch or a_sketch(desk, cast), letter, "North bay", outline
    )


def a_mark(
    desk: Desk,
    cast: Cast,
    zone: Zone,
    at: Sequence[float] = (300, 300),
    kind: str = "tear",
    outline: Mapping[str, Any] | None = None,
    by: str | None = None,
) -> Defect:
    mark = defects.read_mark(kind, at, TEAR if outline is None else outline)
    return defects.mark_defect(desk, by or cast.lead.id, zone.id, mark)


def sides(left: str = "6 in", right: str = "6 in", near: str = "6 in", far: str = "6 in") -> dict[str, Any]:
    """A well-made patch by its four tape readings."""
    return {"sides": {"left": left, "right": right, "near": near, "far": far}, **WELL_MADE}


def a_patch(desk: Desk, cast: Cast, defect: Defect, given: Mapping[str, Any] | None = None) -> Patch:
    """A patch that seals, unless told otherwise."""
    return patches.log_patch(desk, cast.lead.id, defect.id, given or sides()).patch


def a_repair(desk: Desk, cast: Cast, defect: Defect, given: Mapping[str, Any] | None = None) -> Repair:
    """A lap laid again that mends a short lap, unless told otherwise."""
    return repairs.log_repair(desk, cast.lead.id, defect.id, given or LAPPED).repair


def an_edge(desk: Desk, cast: Cast, zone: Zone, edge: int = 1) -> Termination:
    """A side of the zone sealed to its wall, as the sheet asks."""
    given = {"kind": TO_WALL, "edges": [edge]}
    (stretch,) = terminations.describe_edge(desk, cast.lead.id, zone.id, given)
    done = {"sealed": True, "cleaned": True, "dry": True, "tape_width": "4 in"}
    (judged,) = terminations.seal_edge(desk, cast.lead.id, stretch.id, done)
    return judged.stretch


# NPS 4 asks a collar 21.206 in long: TRADE.md 9.1, calculated.
COLLAR = {
    "method": "collar", "collar_width": "12 in", "collar_length": "22 in", "fingers": True,
    "taped_to_pipe": True, "taped_to_film": True, "cleaned": True, "dry": True, "tape_width": "4 in",
}  # fmt: skip


def a_pipe(desk: Desk, cast: Cast, zone: Zone, at: Sequence[float] = (250, 350)) -> Penetration:
    """A steel pipe through the film, in a collar as the sheet asks."""
    given = {"kind": "steel pipe", "size": "NPS 4", "at": list(at)}
    (pipe,) = penetrations.place_penetrations(desk, cast.lead.id, zone.id, given)
    (judged,) = penetrations.log_seal(desk, cast.lead.id, pipe.id, COLLAR)
    return judged.penetration


def a_seam(
    desk: Desk, cast: Cast, zone: Zone, path: Sequence[Sequence[float]] = ((200, 600), (600, 600))
) -> Seam:
    """A side lap that nobody has walked yet."""
    return seams.draw_seams(desk, cast.lead.id, zone.id, {"path": [list(at) for at in path]})[0]


def a_material(desk: Desk, cast: Cast, **given: str) -> Material:
    """Film of class A as the sheet asks, unless told otherwise."""
    return film.submit_material(desk, cast.manager.id, cast.project_id, FILM_A | given)


def a_lot(desk: Desk, cast: Cast, material: Material, number: str = "F-2207") -> Lot:
    return film.receive_lot(desk, cast.lead.id, material.id, number, 4)


def a_laying(desk: Desk, cast: Cast, zone: Zone, lot: Lot) -> Laying:
    return film.lay_lot(desk, cast.lead.id, zone.id, lot.id)


ROLLS = {"roll_width": "15 ft", "roll_length": "200 ft", "direction": 0, "starts": "left"}


def a_layout(desk: Desk, cast: Cast, zone: Zone, lot: Lot | None = None, **given: Any) -> Layout:
    """Sheets of 15 ft rolls along the sketch, without their seams; the first is laid where a lot is given."""
    asked = {**ROLLS, "draw_seams": False, **given}
    kept = layout_keeping.keep_zone_layout(desk, cast.lead.id, zone.id, asked).layout
    if lot is not None:
        sheets_laid.log_sheets(desk, cast.lead.id, kept.id, [1], lot.id)
    return ground_of_layout(desk, cast.lead.id, kept.id)[1]


WEATHER = {"air": "85 F", "concrete": "82 F", "film": "90 F", "humidity": "45", "wind": "12 mph"}
PLACING = {"thickness": "4 in", "allowance": "5", "truck": "10 cu yd", "rate": "40 cu yd", "limit": "usual"}


def a_reading(desk: Desk, cast: Cast, zone: Zone, by: str | None = None, **given: Any) -> Readings:
    """The weather now, as the crew lead reads it."""
    return placing_day.take_reading(desk, by or cast.lead.id, zone.id, WEATHER | given)


def a_thickness(desk: Desk, cast: Cast, zone: Zone, *depths: str) -> Thickness:
    """The slab measured in these places; one of 4 in unless told otherwise."""
    readings = [{"depth": depth, "where": ""} for depth in depths or ("4 in",)]
    return placing_day.measure_thickness(desk, cast.lead.id, zone.id, {"readings": readings})


def a_placing_plan(desk: Desk, cast: Cast, zone: Zone, **given: str) -> PlacingPlan:
    return placing_day.plan_placing(desk, cast.manager.id, zone.id, PLACING | given)


def a_walk(desk: Desk, cast: Cast, zone: Zone) -> None:
    zones.finish_walk(desk, cast.lead.id, zone.id)


def a_release(desk: Desk, cast: Cast, zone: Zone) -> str:
    """Release the zone as it stands; the digest released."""
    digest = zone_view(desk, cast.manager.id, zone.id).standing.digest
    release.release_zone(desk, cast.manager.id, zone.id, digest, "I have seen this zone.")
    return digest


def newest_release(desk: Desk, cast: Cast, zone: Zone) -> Release:
    """The zone's newest release, pulled back or not."""
    own = zone_view(desk, cast.manager.id, zone.id).site.releases.values()
    return max(own, key=lambda release: release.seq)


def state_of(desk: Desk, cast: Cast, zone: Zone) -> str:
    return zone_view(desk, cast.manager.id, zone.id).standing.state


def blockers_of(desk: Desk, cast: Cast, zone: Zone) -> list[str]:
    return [blocker.code for blocker in zone_view(desk, cast.manager.id, zone.id).standing.blockers]
