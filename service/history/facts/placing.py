"""What can happen when film is laid to a plan, and on the day the concrete comes.

Like `facts`: a published fact never changes its fields. Units as in `domain.placing`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from service.domain.nouns.placing import (
    Delivery,
    DepthReading,
    PastEdge,
    PlannedSheet,
    StockCount,
    WeatherReading,
)
from service.domain.nouns.site import Px


@dataclass(frozen=True, slots=True)
class LayoutKept:
    """A layout of sheets, as it was worked out and kept. `letters`: its zones' letters, for people."""

    type: ClassVar[str] = "layout-kept"
    layout: str
    sketch: str
    zones: tuple[str, ...]
    letters: tuple[str, ...]
    material: str
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


@dataclass(frozen=True, slots=True)
class LayoutWithdrawn:
    type: ClassVar[str] = "layout-withdrawn"
    layout: str
    letters: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class SheetsLaid:
    """Sheets of a layout laid in a zone, off one lot; `number` is the lot's."""

    type: ClassVar[str] = "sheets-laid"
    laying: str
    layout: str
    zone: str
    letter: str
    sheets: tuple[int, ...]
    lot: str
    number: str
    note: str


@dataclass(frozen=True, slots=True)
class SheetsLaidWithdrawn:
    type: ClassVar[str] = "sheets-laid-withdrawn"
    laying: str
    layout: str
    zone: str
    letter: str
    sheets: tuple[int, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class OrderPlanned:
    """The whole new choice of what is ordered and when."""

    type: ClassVar[str] = "order-planned"
    material: str
    film_allowance_mpct: int
    tape_allowance_mpct: int
    repairs_per_1000ft2_m: int
    stock: tuple[StockCount, ...]
    deliveries: tuple[Delivery, ...]


@dataclass(frozen=True, slots=True)
class PlacingPlanned:
    """The whole new plan of one zone's placing."""

    type: ClassVar[str] = "placing-planned"
    zone: str
    letter: str
    thickness_nm: int
    allowance_mpct: int
    truck: str
    rate: str
    limit: str
    mix: str


@dataclass(frozen=True, slots=True)
class ReadingsTaken:
    """`source`: empty for what a person read, else the name of a weather station's file."""

    type: ClassVar[str] = "readings-taken"
    readings: str
    zone: str
    letter: str
    source: str
    taken: tuple[WeatherReading, ...]
    note: str


@dataclass(frozen=True, slots=True)
class ReadingsWithdrawn:
    type: ClassVar[str] = "readings-withdrawn"
    readings: str
    zone: str
    letter: str
    reason: str


@dataclass(frozen=True, slots=True)
class ThicknessMeasured:
    type: ClassVar[str] = "thickness-measured"
    thickness: str
    zone: str
    letter: str
    taken: tuple[DepthReading, ...]
    note: str


@dataclass(frozen=True, slots=True)
class ThicknessWithdrawn:
    type: ClassVar[str] = "thickness-withdrawn"
    thickness: str
    zone: str
    letter: str
    reason: str


@dataclass(frozen=True, slots=True)
class PlacingStarted:
    """The concrete began to come, under the release named; `started_at` as told by who logs it."""

    type: ClassVar[str] = "placing-started"
    zone: str
    letter: str
    release: str
    started_at: datetime
