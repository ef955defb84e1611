"""Layouts as a record carries them: what was asked, every sheet, and off which lot it was laid."""

from __future__ import annotations

import csv
import io

from service.actions.film import layout_keeping
from service.actions.film.layout_ground import ground_of_layout
from service.actions.frame.desk import Desk
from service.actions.record.layouts import layout_tables
from tests import builders
from tests.cast import Cast


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_layout_and_each_of_its_sheets_are_told_with_what_is_laid_and_withdrawn(
    desk: Desk, cast: Cast
) -> None:
    zone = builders.a_zone(desk, cast)
    lot = builders.a_lot(desk, cast, builders.a_material(desk, cast))
    layout = builders.a_layout(desk, cast, zone, lot, offset="2 ft")
    layout_keeping.withdraw_layout(desk, cast.lead.id, layout.id, "=drawn anew")
    ground, _ = ground_of_layout(desk, cast.lead.id, layout.id)
    tables = layout_tables(ground.site, "us")
    (told,) = rows(tables["layouts.csv"])
    assert (told["letters"], told["roll_width"], told["direction_deg"]) == ("B", "15 ft", "0")
    assert (told["first_edge_outside"], told["by_hand"], told["sheets"]) == ("24 in", "yes", "5")
    assert told["withdrawn"] == "'=drawn anew", "no spreadsheet runs it"
    sheets = rows(tables["sheets.csv"])
    assert [(row["number"], row["cut_length"], row["lot_number"]) for row in sheets] == [
        ("1", "80 ft", "F-2207"), ("2", "80 ft", ""), ("3", "80 ft", ""), ("4", "80 ft", ""),
        ("5", "80 ft", ""),
    ]  # fmt: skip
    assert sum(int(row["cut_length_nm"]) for row in sheets) == 5 * 80 * builders.FOOT_NM
