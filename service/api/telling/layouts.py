"""From layouts of sheets to what programs get of them: in today's pixels, in the project's units."""

from __future__ import annotations

from pydantic import Field

from service.actions.film.layout_ground import Ground
from service.actions.film.layout_progress import Progress
from service.actions.film.layout_seams import SeamToDraw as Drawn
from service.api.answers.sites import Answer, Area, Length, Place, Time
from service.api.telling.telling import NOBODY, length, place
from service.domain.nouns.placing import Layout, PlannedSheet, SheetsLaying
from service.domain.nouns.site import Sketch
from service.domain.words.measures import NM_PER_M, Units, area_json, say_run
from service.history.facts.encoding import time_text

MM2_PER_M2 = 1_000_000


class SheetTold(Answer):
    """A sheet: `number` in laying order, `row` from the side where placing begins, from 1; its corners run
    along the roll from the first to the second."""

    number: int
    row: int
    corners: list[Place]
    cut_length: Length
    width: Length


class SeamToDraw(Answer):
    """A seam, whole within one zone."""

    zone: str
    kind: str
    path: list[Place]


class LayingTold(Answer):
    """Sheets logged as laid in a zone, off one lot."""

    id: str
    sheets: list[int]
    lot: str
    lot_number: str
    zone: str
    note: str
    by: str
    at: Time
    withdrawn: str | None


class LeftTold(Answer):
    """What is left: to lay, to tape (seams not walked and sealed), to seal (edges, penetrations)."""

    sheets: list[int]
    film: Area
    seams: int
    seam_length: Length
    edge_length: Length
    penetrations: int


class LayoutTold(Answer):
    """A layout as it was kept. `direction_deg` is clockwise from the right on the sketch."""

    id: str
    sketch: str
    zones: list[str]
    letters: list[str]
    material: str | None
    roll_width: Length
    roll_length: Length
    side_lap: Length
    end_lap: Length
    direction_deg: float
    starts: str
    offset: Length
    by_hand: bool = Field(description="A person put the first sheet's edge where it is.")
    film: Area
    seam_length: Length
    sheets: list[SheetTold]
    seams: list[str]
    laid: list[LayingTold]
    left: LeftTold
    by: str
    kept_at: Time
    withdrawn: str | None


def along(nm: float, units: Units) -> Length:
    """A way in whole nanometres: feet and inches in its text."""
    return Length(text=say_run(round(nm), units), m=round(nm) / NM_PER_M)


def area(m2: float, units: Units) -> Area:
    return Area.model_validate(area_json(m2, units))


def sheet(sketch: Sketch, of: PlannedSheet, units: Units) -> SheetTold:
    corners = [place(sketch, corner) for corner in of.corners]
    cut, width = along(of.cut_length_nm, units), along(of.width_nm, units)
    return SheetTold(number=of.number, row=of.row + 1, corners=corners, cut_length=cut, width=width)


def seam(sketch: Sketch, of: Drawn) -> SeamToDraw:
    return SeamToDraw(zone=of.zone_id, kind=of.kind, path=[place(sketch, at) for at in of.path])


def laying(ground: Ground, of: SheetsLaying) -> LayingTold:
    return LayingTold(
        id=of.id, sheets=list(of.sheets), lot=of.lot_id, lot_number=ground.site.lots[of.lot_id].number,
        zone=of.zone_id, note=of.note, by=ground.names.get(of.signed.by, NOBODY),
        at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip


def layout(ground: Ground, of: Layout, told: Progress) -> LayoutTold:
    """A layout as programs get it."""
    units, sketch = ground.seen.project.units, ground.seen.sketch
    left = LeftTold(
        sheets=[one.number for one in told.next], film=area(told.film_left_mm2 / MM2_PER_M2, units),
        seams=told.seams_left, seam_length=along(told.seam_left_nm, units),
        edge_length=along(told.edge_left_nm, units), penetrations=told.pipes_left,
    )  # fmt: skip
    return LayoutTold(
        id=of.id, sketch=of.sketch_id, zones=list(of.zone_ids),
        letters=[ground.site.zones[zone].letter for zone in of.zone_ids], material=of.material_id or None,
        roll_width=along(of.roll_width_nm, units), roll_length=along(of.roll_length_nm, units),
        side_lap=length(of.side_lap_nm, units), end_lap=length(of.end_lap_nm, units),
        direction_deg=ground.direction_shown(of.direction_udeg) / 1_000_000, starts=of.starts,
        offset=along(of.offset_nm, units),
        by_hand=of.by_hand, film=area(of.film_mm2 / MM2_PER_M2, units),
        seam_length=along(of.seam_nm, units), sheets=[sheet(sketch, one, units) for one in of.sheets],
        seams=list(of.seams), laid=[laying(ground, one) for one in of.laid], left=left,
        by=ground.names.get(of.signed.by, NOBODY), kept_at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip
