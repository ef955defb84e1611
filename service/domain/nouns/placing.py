"""The nouns of laying film to a plan and of the day the concrete comes: layouts, orders, readings, plans.

No rule of the release gate reads any of them: they plan, count and warn. Units as in `domain.site`: lengths
nanometres, positions thousandths of a pixel of the base frame, temperatures thousandths of a degree
Fahrenheit, wind thousandths of a mile an hour at 20 in above the surface, humidity and allowances thousandths
of a percent. Volumes are text as people write them (`domain.volume`).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.domain.nouns.installed import Px, Signed


@dataclass(frozen=True, slots=True)
class PastEdge:
    """How far film runs past a stretch of the outline's edge: up a wall, over a footing, past a joint."""

    a: Px
    b: Px
    past_nm: int


@dataclass(frozen=True, slots=True)
class PlannedSheet:
    """A sheet of a layout: its number in laying order, its row across the placing direction, and the
    rectangle it covers, along the roll from corner 0 to 1. `width_nm`: the roll's, or less where it is
    ripped."""

    number: int
    row: int
    corners: tuple[Px, Px, Px, Px]
    cut_length_nm: int
    width_nm: int


@dataclass(frozen=True, slots=True)
class SheetsLaying:
    """Sheets of a layout logged as laid in a zone, off one lot."""

    id: str
    sheets: tuple[int, ...]
    lot_id: str
    zone_id: str
    note: str
    signed: Signed
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class Layout:
    """Where each sheet goes, as it was planned and kept. `zone_ids`: one zone, or those of a whole slab.

    `material_id`: the film it is for, or empty. `direction_udeg`: the placing direction, clockwise on the
    sketch from "to the right"; `starts`: the side, looking along it, where placing begins. `by_hand`: a
    person chose the offset. `seams`: ids of the seams that it put on the punch list. `film_mm2`: the film it
    takes.
    """

    id: str
    sketch_id: str
    zone_ids: tuple[str, ...]
    material_id: str
    roll_width_nm: int
    roll_length_nm: int
    side_lap_nm: int
    end_lap_nm: int
    direction_udeg: int
    starts: str
    offset_nm: int
    past: tuple[PastEdge, ...]
    openings: tuple[tuple[Px, ...], ...]
    by_hand: bool
    sheets: tuple[PlannedSheet, ...]
    seams: tuple[str, ...]
    film_mm2: int
    seam_nm: int
    laid: tuple[SheetsLaying, ...]
    signed: Signed
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class StockCount:
    """Whole rolls of a material that somebody counted on site and that no sheet was cut from yet."""

    material_id: str
    whole_rolls: int


@dataclass(frozen=True, slots=True)
class Delivery:
    """Film that comes at one time, for these zones."""

    label: str
    at: datetime | None
    zone_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OrderPlan:
    """What a person chose for a project's order. `id` is the project's. `repairs_per_1000ft2_m`: patches
    expected, thousandths a 1,000 square feet. `stock`: what is on site and taken off."""

    id: str
    material_id: str
    film_allowance_mpct: int
    tape_allowance_mpct: int
    repairs_per_1000ft2_m: int
    stock: tuple[StockCount, ...]
    deliveries: tuple[Delivery, ...]
    signed: Signed


@dataclass(frozen=True, slots=True)
class Placement:
    """Concrete in. `blockers` are the gate's sentences where the zone was placed without release; else what
    was found during placing and not mended before the concrete covered it."""

    at: datetime
    by: str
    volume: str
    without_release: bool
    blockers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Placing:
    """The concrete began to come: when, as told by whom, under which release; `seq` its entry."""

    started_at: datetime
    by: str
    release_id: str
    seq: int


@dataclass(frozen=True, slots=True)
class PlacingPlan:
    """How a zone is to be placed. `id` is the zone's. `truck`: a load, `rate`: what is placed in an hour,
    both as volumes or empty; `limit`: the evaporation limit's name; `mix`: the mix in one's own
    words."""

    id: str
    zone_id: str
    thickness_nm: int
    allowance_mpct: int
    truck: str
    rate: str
    limit: str
    mix: str
    signed: Signed


@dataclass(frozen=True, slots=True)
class WeatherReading:
    """The weather at one moment; None where it was not measured."""

    at: datetime
    air_mf: int
    concrete_mf: int | None
    film_mf: int | None
    humidity_mpct: int
    wind_mmph: int
    rain: bool


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings taken for a zone's placing: by hand, or from a weather station's file, named in `source`."""

    id: str
    zone_id: str
    source: str
    readings: tuple[WeatherReading, ...]
    note: str
    signed: Signed
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class DepthReading:
    """The slab's thickness in one place, told in words."""

    depth_nm: int
    where: str


@dataclass(frozen=True, slots=True)
class Thickness:
    """Thickness readings of a zone's slab, taken together."""

    id: str
    zone_id: str
    readings: tuple[DepthReading, ...]
    note: str
    signed: Signed
    withdrawn: str | None
