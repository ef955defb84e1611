"""Layouts of sheets to test on, whose counts are plain: rows of one length, lapped 6 in, along the zone."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.domain.nouns.installed import Material
from service.domain.nouns.placing import PlannedSheet
from service.domain.nouns.site import Px, Zone
from service.history.facts.placing import LayoutKept, SheetsLaid
from service.storage.history import onto
from tests.builders import FOOT_NM, a_material
from tests.cast import Cast

ROLL = {"roll_width": "12 ft", "roll_length": "200 ft"}
PX_FT = 10_000  # thousandths of a pixel to the foot, as tests/builders.py sets the scale


def a_roll(desk: Desk, cast: Cast, **given: str) -> Material:
    """Film that comes 12 ft by 200 ft, unless told otherwise."""
    return a_material(desk, cast, **(ROLL | given))


def a_tape(desk: Desk, cast: Cast, **given: str) -> Material:
    return a_material(desk, cast, kind="tape", claimed_class="", name="Seam tape", **given)


def rows_over(outline: Sequence[Sequence[float]], roll_ft: int = 12) -> tuple[PlannedSheet, ...]:
    """Sheets of the whole width of a box, one below the other with 6 in of lap, the last past its edge."""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    left, right, top, bottom = (round(v * 1000) for v in (min(xs), max(xs), min(ys), max(ys)))
    wide, pitch = roll_ft * PX_FT, roll_ft * PX_FT - PX_FT // 2
    count = 1 + max(0, -(-(bottom - top - wide) // pitch))
    return tuple(_sheet(i, left, right, top + i * pitch, wide, roll_ft) for i in range(count))


def _sheet(i: int, left: int, right: int, top: int, wide: int, roll_ft: int) -> PlannedSheet:
    corners: tuple[Px, Px, Px, Px] = ((left, top), (right, top), (right, top + wide), (left, top + wide))
    return PlannedSheet(i + 1, i, corners, (right - left) * FOOT_NM // PX_FT, roll_ft * FOOT_NM)


def a_layout(
    desk: Desk, cast: Cast, zones: Sequence[Zone], sheets: Sequence[PlannedSheet], material: str = ""
) -> str:
    """These sheets kept as the layout of these zones, with no seam drawn. Its id."""
    layout = desk.new_id()
    length = sheets[0].cut_length_nm
    with desk.writing() as session:
        seen, site = project_to_change(session, cast.manager.id, cast.project_id, "plan the order")
        kept = LayoutKept(
            layout, zones[0].sketch_id, tuple(zone.id for zone in zones),
            tuple(zone.letter for zone in zones), material, sheets[0].width_nm, 200 * FOOT_NM, FOOT_NM // 2,
            FOOT_NM // 2, 0, "left", 0, (), (), False, tuple(sheets), (),
            sum(sheet.cut_length_nm * sheet.width_nm for sheet in sheets) // 10**12,
            length * (len(sheets) - 1),
        )  # fmt: skip
        record(desk, session, site, cast.manager.id, seen.role, kept)
    return layout


def sheets_laid(desk: Desk, cast: Cast, zone: Zone, layout: str, lot: str, sheets: tuple[int, ...]) -> str:
    """These sheets logged as laid off a lot. The id of that."""
    laying = desk.new_id()
    with desk.writing() as session:
        seen, site = project_to_change(session, cast.manager.id, cast.project_id, "log sheets laid")
        onto.put_layouts(session, site, cast.project_id)
        fact = SheetsLaid(laying, layout, zone.id, zone.letter, sheets, lot, "F-2207", "")
        record(desk, session, site, cast.manager.id, seen.role, fact)
    return laying
