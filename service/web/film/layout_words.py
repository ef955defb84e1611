"""A layout of sheets in words: what it takes and why, in which order it is laid, where each sheet lies."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.film.layout_seams import SeamToDraw
from service.actions.film.sheet_layouts import Planned
from service.domain.installed.seams import length_nm
from service.domain.nouns.installed import SIDE_LAP
from service.domain.nouns.placing import PlannedSheet
from service.domain.nouns.site import Sketch
from service.domain.sheets.nouns import Cost, SheetLayout
from service.domain.sketch.where import where_words
from service.domain.words.measures import Units, say_area, say_distance, say_length, say_run, say_sides
from service.domain.words.speech import tr, trn
from service.web.drawings.drawing import ScheduleRow

Fact = tuple[str, str, str]
MM2_PER_M2 = 1_000_000


def percent(part: float, whole: float) -> str:
    """How much more the part is than the whole: `4.2 %`, never `-0.0`."""
    return f"{max(part / whole - 1, 0.0) * 100:.1f} %" if whole else "0 %"


def said_facts(of: Planned) -> tuple[Fact, ...]:
    """What a layout comes to: name, words, and the line below."""
    layout, units = of.layout, of.ground.seen.project.units
    roll = sum(sheet.cut_length_nm for sheet in layout.sheets)
    sheets = trn("{n} sheet, {roll} off the roll", "{n} sheets, {roll} off the roll", len(layout.sheets),
                 roll=say_distance(roll, units))  # fmt: skip
    floor = tr("the floor is {floor}; with what runs past its edges {cover}",
               floor=say_area(layout.area_m2, units), cover=say_area(layout.to_cover_m2, units))  # fmt: skip
    bound = tr("no layout laid by this rule takes less than {least}", least=say_area(layout.bound_m2, units))
    left, left_over = layout.film_m2 - layout.to_cover_m2, tr("in laps, and past what is covered")
    return (
        (tr("Film"), say_area(layout.film_m2, units), sheets),
        (tr("More than the floor"), percent(layout.film_m2, layout.area_m2), floor),
        (tr("More than the least"), percent(layout.film_m2, layout.bound_m2), bound),
        (tr("Not floor"), say_area(max(left, 0.0), units), left_over),
        (tr("Seams"), say_distance(layout.seam_nm, units), _seams(of.seams(), of)),
        (tr("First sheet"), tr("{offset} outside the floor", offset=say_run(layout.offset_nm, units)),
         _first(of.entry.offset_nm is None)),
        (tr("Laps"), tr("{side} along, {end} across", side=say_length(layout.asked.side_lap_nm, units),
                        end=say_length(layout.asked.end_lap_nm, units)), _lap_words(of, units)),
    )  # fmt: skip


def _seams(seams: Sequence[SeamToDraw], of: Planned) -> str:
    side = sum(seam.kind == SIDE_LAP for seam in seams)
    long = round(sum(length_nm(seam.path, of.ground.per_px) for seam in seams))
    if not seams:
        return tr("none")
    said = {"side": side, "end": len(seams) - side, "long": say_distance(long, of.ground.seen.project.units)}
    return tr("on the punch list {side} side laps and {end} end laps, {long}", **said)


def _first(sought: bool) -> str:
    if sought:
        return tr("chosen so that the film, then the seams, are least")
    return tr("where a person put it")


def _lap_words(of: Planned, units: Units) -> str:
    least = say_length(of.least.nm, units, "up")
    return tr("at least {lap}: {source}", lap=least, source=tr(of.least.source))


def sheet_row(
    sheet: PlannedSheet, sketch: Sketch, units: Units, *, way: str = "", kind: str = ""
) -> ScheduleRow:
    """A sheet with its number, its cut length by its width, its row and where its middle lies."""
    x, y = (round(sum(at[axis] for at in sheet.corners) / 4) for axis in (0, 1))
    row = tr("row {row} from the side where placing begins", row=sheet.row + 1)
    where = where_words(sketch, (x, y), units)
    size = tr("{length} long, {width} wide", length=say_run(sheet.cut_length_nm, units),
              width=say_distance(sheet.width_nm, units))  # fmt: skip
    told = tr("{row}; its middle at {where}", row=row, where=where) if where else row
    return ScheduleRow(str(sheet.number), size, told, way, "", kind)


def cost_words(cost: Cost | SheetLayout, best: SheetLayout, units: Units) -> dict[str, str]:
    """What one place of the first sheet's edge comes to, beside the best: the words that a drag shows."""
    sheets = len(cost.sheets) if isinstance(cost, SheetLayout) else cost.sheets
    more = cost.film_m2 - best.film_m2
    if more > best.film_m2 * 5e-5:
        told = tr("{percent} more film than the least", percent=percent(cost.film_m2, best.film_m2))
    elif cost.seam_nm > best.seam_nm:
        seam = say_distance(cost.seam_nm - best.seam_nm, units)
        told = tr("as little film as can be, {seam} more of seams", seam=seam)
    else:
        told = tr("as little film as can be")
    return {
        "film": say_area(cost.film_m2, units),
        "seams": say_distance(cost.seam_nm, units),
        "sheets": trn("{n} sheet", "{n} sheets", sheets),
        "told": told,
        "offset": say_run(cost.offset_nm, units),
    }


def roll_words(width_nm: int, length_nm_: int, units: Units) -> str:
    """`15 by 200 ft` as a roll is named."""
    if units == "us":
        return tr(
            "{width} by {length}", width=say_distance(width_nm, units), length=say_distance(length_nm_, units)
        )
    return say_sides(width_nm, length_nm_, units)
