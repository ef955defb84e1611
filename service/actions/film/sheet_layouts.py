"""Lay out the sheets of a zone or a slab, and look at what they come to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from service.actions.film.layout_entry import NOT_DESCRIBED, LayoutEntry, read_layout
from service.actions.film.layout_ground import Ground, LeastLap, ground_of_sketch, ground_of_zone
from service.actions.film.layout_seams import SeamToDraw, seams_of
from service.actions.frame.desk import Desk
from service.domain.nouns.installed import Material
from service.domain.nouns.placing import PastEdge, PlannedSheet
from service.domain.nouns.site import Px
from service.domain.sheets.layout import BadLayout, Cost, EdgeRun, LayoutAsked, SheetLayout, costs, lay_out
from service.domain.sheets.seam_pieces import to_ground, to_px
from service.domain.sketch.places import to_base, turn_of
from service.domain.words.measures import say_length
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr

# Where the trouble that a layout tells stands in the form.
FIELD_OF = {
    "roll-too-narrow": "roll_width", "roll-too-short": "roll_length", "direction-needed": "direction",
    "start-needed": "starts", "bad-lap": "side_lap", "bad-offset": "offset", "no-area": "openings",
    "too-many-sheets": "roll_width",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Planned:
    """A layout worked out and not kept. `past` and `openings` in the base frame; `least`: the lap asked."""

    ground: Ground
    entry: LayoutEntry
    material: Material | None
    least: LeastLap
    past: tuple[PastEdge, ...]
    openings: tuple[tuple[Px, ...], ...]
    layout: SheetLayout

    @property
    def seen_as(self) -> str:
        """What it comes to, short: sent back with the keeping, so that nothing else is kept than was seen."""
        return f"{len(self.layout.sheets)}-{self.layout.offset_nm}-{round(self.layout.film_m2 * 1e6)}"

    def seams(self) -> tuple[SeamToDraw, ...]:
        """The seams it puts on the punch list."""
        return seams_of(self.layout.seams, self.ground.zones, self.ground.per_px)

    def sheets(self) -> tuple[PlannedSheet, ...]:
        """Its sheets as they are kept: corners in the base frame."""
        per_px = self.ground.per_px
        return tuple(
            PlannedSheet(
                sheet.number, sheet.row, _corners(sheet.corners, per_px), sheet.cut_length_nm, sheet.width_nm
            )
            for sheet in self.layout.sheets
        )


def _corners(corners: Sequence[tuple[float, float]], per_px: float) -> tuple[Px, Px, Px, Px]:
    a, b, c, d = (to_px(corner, per_px) for corner in corners)
    return a, b, c, d


# --- working it out --------------------------------------------------------------------------------------


def plan_zone(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> Planned:
    """What these sheets come to in one zone. Records nothing."""
    return planned(ground_of_zone(desk, by, zone_id), given)


def plan_sketch(desk: Desk, by: str, sketch_id: str, given: Mapping[str, Any]) -> Planned:
    """What these sheets come to over zones of a sketch: `zones`, or all without concrete. Records nothing."""
    return planned(ground_of_sketch(desk, by, sketch_id, zone_ids_of(given)), given)


def zone_ids_of(given: Mapping[str, Any]) -> tuple[str, ...]:
    chosen = given.get("zones") or ()
    if not isinstance(chosen, list | tuple) or not all(isinstance(one, str) for one in chosen):
        told = tr("Choose zones of this sketch.")
        raise BadInput(told, fields={"zones": told})
    return tuple(dict.fromkeys(chosen))


def planned(ground: Ground, given: Mapping[str, Any]) -> Planned:
    """The layout of this ground as asked. BadInput names what is to be put right."""
    if not ground.zones:
        told = tr("There is no zone here without concrete: nothing to lay film on.")
        raise BadInput(told, fields={"zones": told}, code="no-zones")
    entry = read_layout(given)
    material = _film(ground, entry)
    entry = replace(
        entry,
        roll_width_nm=_roll(entry.roll_width_nm, material, "roll_width"),
        roll_length_nm=_roll(entry.roll_length_nm, material, "roll_length"),
    )
    least = ground.least_lap(material)
    side = _lap(ground, least, "side_lap", entry.side_lap_nm)
    end = _lap(ground, least, "end_lap", entry.end_lap_nm)
    entry = replace(entry, side_lap_nm=side, end_lap_nm=end)
    past = ground.past_edges(_by_kind(entry.past), side)
    openings = tuple(
        tuple(to_base(ground.seen.sketch, corner, "openings") for corner in ring) for ring in entry.openings
    )
    try:
        layout = _laid_out(_asked(ground, entry, past, openings))
    except BadLayout as bad:
        raise BadInput(str(bad), fields={FIELD_OF.get(bad.code, ""): str(bad)}, code=bad.code) from None
    return Planned(ground, entry, material, least, past, openings, layout)


def _asked(
    ground: Ground, entry: LayoutEntry, past: Sequence[PastEdge], openings: Sequence[Sequence[Px]]
) -> LayoutAsked:
    per_px = ground.per_px
    return LayoutAsked(
        outlines=tuple(_ring(zone.outline, per_px) for zone in ground.zones),
        openings=tuple(_ring(ring, per_px) for ring in openings),
        edges=tuple(EdgeRun(to_ground(run.a, per_px), to_ground(run.b, per_px), run.past_nm) for run in past),
        roll_width_nm=entry.roll_width_nm or 0,
        roll_length_nm=entry.roll_length_nm or 0,
        side_lap_nm=entry.side_lap_nm or 0,
        end_lap_nm=entry.end_lap_nm or 0,
        direction_udeg=_direction(ground, entry),
        starts=entry.starts,
        offset_nm=entry.offset_nm,
        grain_nm=2 * math.ceil(per_px / 1000),
    )


@lru_cache(maxsize=32)
def _laid_out(asked: LayoutAsked) -> SheetLayout:
    """Kept at hand from the look to the keeping, which then holds no lock while sheets are laid out."""
    return lay_out(asked)


def cost_at(of: Planned, offset_nm: int) -> Cost:
    """What the same sheets come to with the first one's edge so far outside the floor. BadInput."""
    try:
        return costs(of.layout.asked, (offset_nm,))[0]
    except BadLayout as bad:
        raise BadInput(str(bad), fields={"offset": str(bad)}, code=bad.code) from None


def _ring(ring: Sequence[Px], per_px: float) -> tuple[tuple[float, float], ...]:
    return tuple(to_ground(corner, per_px) for corner in ring)


def _film(ground: Ground, entry: LayoutEntry) -> Material | None:
    if not entry.material:
        return None
    found = next((film for film in ground.films() if film.id == entry.material), None)
    if found is None:
        told = tr("Choose one of the films submitted on this project.")
        raise BadInput(told, fields={"material": told})
    return found


def _roll(given: int | None, material: Material | None, name: str) -> int:
    """As typed, else the film's own. BadInput where nobody stated it."""
    own = None if material is None else getattr(material, f"{name}_nm")
    nm = given or own
    if not nm:
        told = tr("Nobody stated the size of this film's roll: write how wide and how long it is.")
        raise BadInput(told, fields={name: told}, code="roll-not-stated")
    return int(nm)


def _lap(ground: Ground, least: LeastLap, name: str, nm: int | None) -> int:
    """As chosen, or the least; BadInput for less, with whose number the least is."""
    if nm is None or nm >= least.nm:
        return least.nm if nm is None else nm
    asked = say_length(least.nm, ground.seen.project.units, "up")
    told = tr("Film laps by {lap} at least here: {source}.", lap=asked, source=least.source)
    raise BadInput(told, fields={name: told}, code="lap-under-least")


def _by_kind(past: Mapping[str, int]) -> dict[str, int]:
    return {"" if kind == NOT_DESCRIBED else kind: nm for kind, nm in past.items()}


def _direction(ground: Ground, entry: LayoutEntry) -> int:
    """Of the base frame: today's picture may be turned from it. An arrow of no length gives none."""
    sketch = ground.seen.sketch
    if entry.way is None:
        return ((entry.direction_udeg or 0) - turn_of(sketch)) % 360_000_000
    (ax, ay), (bx, by) = (to_base(sketch, end, "direction") for end in entry.way)
    if (ax, ay) == (bx, by):
        told = tr("The arrow has no length: press its start and its end.")
        raise BadInput(told, fields={"direction": told}, code="direction-needed")
    return round(math.degrees(math.atan2(by - ay, bx - ax)) * 1e6) % 360_000_000
