"""Layouts of sheets kept, their seams on the punch list, and sheets logged as laid."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from service.actions.film import layout_keeping, sheet_layouts, sheets_laid
from service.actions.film.layout_ground import ground_of_layout, ground_of_zone
from service.actions.film.layout_keeping import Kept, keep_layout, keep_zone_layout
from service.actions.film.layout_progress import progress_of
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed import seams
from service.actions.sketches import zones
from service.domain.nouns.placing import Layout
from service.domain.nouns.site import Alignment, Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from tests import builders
from tests.builders import FOOT_NM, NEXT_DOOR, a_sketch, a_zone, blockers_of
from tests.cast import Cast, assemble, enter

# A zone is 80 by 60 ft at 10 px to the foot. 15 ft rolls that lap 6 in lie across 60 ft in
# 1 + ceil((60 - 15) / 14.5) = 5 rows (arithmetic of a row, common practice, no source).
ROWS, LONG = 5, 80
ROLL: Mapping[str, Any] = {"roll_width": "15 ft", "roll_length": "200 ft", "direction": 0, "starts": "left"}


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("seams", "film"))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


@pytest.fixture
def slab(desk: Desk, cast: Cast) -> tuple[Zone, Zone]:
    """Two zones side by side, 160 by 60 ft together."""
    sketch = a_sketch(desk, cast)
    return a_zone(desk, cast, sketch, "B"), a_zone(desk, cast, sketch, "C", NEXT_DOOR)


def keep(desk: Desk, cast: Cast, zone: Zone, **more: Any) -> Kept:
    return keep_zone_layout(desk, cast.lead.id, zone.id, {**ROLL, **more})


def lot_of(desk: Desk, cast: Cast) -> str:
    return builders.a_lot(
        desk, cast, builders.a_material(desk, cast, roll_width="15 ft", roll_length="200 ft")
    ).id


def feet(nm: float) -> float:
    return round(nm / FOOT_NM, 6)


def seam_feet(path: Any) -> float:
    """How long a seam is by hand: 10 px to the foot, thousandths of a pixel."""
    (ax, ay), (bx, by) = path
    return math.hypot(bx - ax, by - ay) / 10_000


# --- what it comes to ------------------------------------------------------------------------------------


def test_a_zone_takes_as_many_rows_as_the_trade_counts_and_its_seams_go_on_the_punch_list(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    kept = keep(desk, cast, zone)
    assert [feet(sheet.cut_length_nm) for sheet in kept.layout.sheets] == [LONG] * ROWS
    assert kept.layout.film_mm2 == round(ROWS * LONG * 15 * 304.8**2)
    assert [(seam.tag, seam.kind, seam_feet(seam.path)) for seam in kept.seams] == [
        (f"B-S0{number}", "side lap", LONG) for number in range(1, ROWS)
    ]
    assert kept.layout.seams == tuple(seam.id for seam in kept.seams)


def test_the_seams_of_a_layout_hold_the_zone_until_somebody_walks_them(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    keep(desk, cast, zone)
    assert blockers_of(desk, cast, zone).count("seam-at-fault") == ROWS - 1


def test_a_layout_may_be_kept_without_seams(desk: Desk, cast: Cast, zone: Zone) -> None:
    assert keep(desk, cast, zone, draw_seams=False).seams == ()
    assert zone_view(desk, cast.lead.id, zone.id).seams() == []


def test_a_seam_of_a_slab_is_cut_where_it_leaves_a_zone(
    desk: Desk, cast: Cast, slab: tuple[Zone, Zone]
) -> None:
    kept = keep_layout(desk, cast.lead.id, slab[0].sketch_id, ROLL)
    assert [feet(sheet.cut_length_nm) for sheet in kept.layout.sheets] == [2 * LONG] * ROWS
    by_zone = {zone.id: [s for s in kept.seams if s.zone_id == zone.id] for zone in slab}
    for number, zone in enumerate(slab):
        assert [seam_feet(seam.path) for seam in by_zone[zone.id]] == [LONG] * (ROWS - 1)
        left, right = 100_000 + number * 800_000, 900_000 + number * 800_000
        assert all(left <= x <= right for seam in by_zone[zone.id] for x, _ in seam.path)


def test_an_end_lap_is_a_seam_of_its_own_kind_and_the_side_laps_beside_it_stay_whole(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    kept = keep(desk, cast, zone, roll_length="50 ft")
    kinds = [seam.kind for seam in kept.seams]
    assert kinds.count("end lap") == ROWS  # each row of 80 ft takes two sheets of at most 50 ft
    assert [seam_feet(s.path) for s in kept.seams if s.kind == "side lap"] == [LONG] * (ROWS - 1)


def test_film_runs_past_an_edge_that_is_described_and_to_the_line_where_nobody_described_it(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    bare = sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, ROLL)
    assert feet(bare.layout.sheets[0].cut_length_nm) == LONG
    builders.an_edge(desk, cast, zone, edge=2)  # the end of every row, sealed to the wall
    turned_up = sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, ROLL)
    assert feet(turned_up.layout.sheets[0].cut_length_nm) == round(LONG + 4 / 12, 6)  # the slab taken as 4 in
    more = {"past": {"sealed to the wall or grade beam": "8 in"}}
    chosen = sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, {**ROLL, **more})
    assert feet(chosen.layout.sheets[0].cut_length_nm) == round(LONG + 8 / 12, 6)


def test_to_the_right_is_meant_as_todays_picture_lies_and_told_so(desk: Desk, cast: Cast, zone: Zone) -> None:
    """A picture turned a quarter clockwise: its right is the first one's up: rows lie across 80 ft."""
    ground = ground_of_zone(desk, cast.lead.id, zone.id)
    turned = Alignment((0, 0), (1_000_000, 0), (2_000_000, 0), (2_000_000, 1_000_000))
    sketch = replace(ground.seen.sketch, alignment=turned)
    ground = replace(ground, seen=replace(ground.seen, sketch=sketch))
    found = sheet_layouts.planned(ground, ROLL)
    # 1 + ceil((80 - 15) / 14.5) = 6 rows of 60 ft.
    assert [feet(sheet.cut_length_nm) for sheet in found.layout.sheets] == [60] * 6
    assert ground.direction_shown(found.layout.asked.direction_udeg or 0) == 0


# --- what is refused -------------------------------------------------------------------------------------


def test_a_direction_not_given_is_asked_for_and_everything_else_at_fault_told_at_once(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    with pytest.raises(BadInput) as told:
        sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, {"roll_width": "15 f", "offset": "?"})
    assert set(told.value.fields) == {"roll_width", "roll_length", "offset", "direction"}
    with pytest.raises(BadInput) as told:
        sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, {**ROLL, "direction": None})
    assert told.value.code == "direction-needed"


def test_a_lap_under_the_least_is_refused_with_whose_number_it_is_and_a_larger_one_kept(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    with pytest.raises(BadInput) as told:
        keep(desk, cast, zone, side_lap="5 15/16 in")
    assert told.value.code == "lap-under-least"
    assert "6 in" in told.value.fields["side_lap"]
    assert keep(desk, cast, zone, side_lap="12 in").layout.side_lap_nm == FOOT_NM


def test_the_films_own_least_lap_is_asked_for_where_it_is_the_larger(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    film = builders.a_material(desk, cast, roll_width="15 ft", roll_length="200 ft", least_lap="12 in")
    given = {"material": film.id, "direction": 0}
    assert keep_zone_layout(desk, cast.lead.id, zone.id, given).layout.side_lap_nm == FOOT_NM
    with pytest.raises(BadInput) as told:
        sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, {**given, "end_lap": "6 in"})
    assert film.name in told.value.fields["end_lap"]


def test_a_roll_no_wider_than_twice_the_lap_is_told_at_its_own_field(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    with pytest.raises(BadInput) as told:
        keep(desk, cast, zone, roll_width="12 in")
    assert (told.value.code, list(told.value.fields)) == ("roll-too-narrow", ["roll_width"])


def test_a_film_whose_roll_nobody_stated_asks_for_it(desk: Desk, cast: Cast, zone: Zone) -> None:
    film = builders.a_material(desk, cast)
    with pytest.raises(BadInput) as told:
        sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, {"material": film.id, "direction": 0})
    assert told.value.code == "roll-not-stated"


def test_what_changed_since_it_was_looked_at_is_not_kept(desk: Desk, cast: Cast, zone: Zone) -> None:
    looked = sheet_layouts.plan_zone(desk, cast.lead.id, zone.id, ROLL)
    zones.change_zone(
        desk, cast.manager.id, zone.id, outline=[(100, 100), (900, 100), (900, 600), (100, 600)]
    )
    with pytest.raises(Conflict) as told:
        keep_zone_layout(desk, cast.lead.id, zone.id, ROLL, seen_as=looked.seen_as)
    assert told.value.code == "layout-moved"
    assert zone_view(desk, cast.lead.id, zone.id).seams() == []


# --- one takes the place of another ----------------------------------------------------------------------


def test_a_layout_takes_the_place_of_another_with_a_reason_and_its_walked_seams_stay(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    first = keep(desk, cast, zone)
    walk = {"stations": [{"at": f"{5 + 10 * n} ft", "lap": "6 in"} for n in range(8)], "taped": True,
            "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}  # fmt: skip
    seams.walk_seam(desk, cast.lead.id, first.seams[0].id, walk)
    with pytest.raises(BadInput) as told:
        keep(desk, cast, zone, roll_width="20 ft")
    assert list(told.value.fields) == ["reason"]
    second = keep(desk, cast, zone, roll_width="20 ft", reason="wider rolls came")
    assert [seam.tag for seam in second.stayed] == ["B-S01"]
    assert [one.withdrawn for one in second.replaced] == ["wider rolls came"]
    standing = [s.tag for s in zone_view(desk, cast.lead.id, zone.id).seams() if s.withdrawn is None]
    # 1 + ceil((60 - 20) / 19.5) = 4 rows of 20 ft rolls
    assert standing == ["B-S01", *(seam.tag for seam in second.seams)]
    assert len(second.seams) == 3


def test_a_layout_is_taken_back_by_whoever_kept_it_or_the_manager(desk: Desk, cast: Cast, zone: Zone) -> None:
    kept = keep_zone_layout(desk, cast.manager.id, zone.id, ROLL)
    with pytest.raises(NotAllowed):
        layout_keeping.withdraw_layout(desk, cast.lead.id, kept.layout.id, "not mine")
    gone, stayed = layout_keeping.withdraw_layout(desk, cast.manager.id, kept.layout.id, "drawn anew")
    assert (gone.withdrawn, stayed) == ("drawn anew", ())
    assert all(s.withdrawn == "drawn anew" for s in zone_view(desk, cast.lead.id, zone.id).seams())
    with pytest.raises(Conflict):
        layout_keeping.withdraw_layout(desk, cast.manager.id, kept.layout.id, "again")


def test_an_inspector_keeps_no_layout_and_a_stranger_sees_none(desk: Desk, cast: Cast, zone: Zone) -> None:
    with pytest.raises(NotAllowed):
        keep_zone_layout(desk, cast.inspector.id, zone.id, ROLL)
    kept = keep(desk, cast, zone)
    with pytest.raises(Exception, match="nothing that is yours"):
        ground_of_layout(desk, enter(desk, "Some Stranger").id, kept.layout.id)


# --- sheets laid -----------------------------------------------------------------------------------------


def lay(desk: Desk, cast: Cast, layout: Layout, lot: str, *sheets: int) -> Any:
    return sheets_laid.log_sheets(desk, cast.lead.id, layout.id, sheets, lot)


def test_sheets_laid_log_their_lot_in_the_zone_once_and_what_is_left_is_told(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    kept, lot = keep(desk, cast, zone), lot_of(desk, cast)
    lay(desk, cast, kept.layout, lot, 1, 2)
    lay(desk, cast, kept.layout, lot, 3)
    laid = [laying for laying in zone_view(desk, cast.lead.id, zone.id).zone.laid if laying.withdrawn is None]
    assert [laying.lot_id for laying in laid] == [lot]
    told = progress_of(*ground_of_layout(desk, cast.lead.id, kept.layout.id))
    assert (sorted(told.laid), [sheet.number for sheet in told.next]) == ([1, 2, 3], [4, 5])
    assert told.film_left_mm2 == pytest.approx(2 * LONG * 15 * 304.8**2, abs=2)
    assert [(used.lot_id, used.sheets) for used in told.by_lot] == [(lot, (1, 2, 3))]
    assert (told.seams_left, feet(told.seam_left_nm)) == (ROWS - 1, (ROWS - 1) * LONG)
    assert feet(told.edge_left_nm) == 2 * (80 + 60)


def test_a_sheet_that_is_laid_already_is_refused_by_its_number_and_nothing_is_recorded(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    kept, lot = keep(desk, cast, zone), lot_of(desk, cast)
    lay(desk, cast, kept.layout, lot, 1, 2)
    with pytest.raises(Conflict, match="Sheet 2 is logged as laid already"):
        lay(desk, cast, kept.layout, lot, 2, 3)
    told = progress_of(*ground_of_layout(desk, cast.lead.id, kept.layout.id))
    assert sorted(told.laid) == [1, 2]
    with pytest.raises(BadInput, match="There is no sheet 9"):
        lay(desk, cast, kept.layout, lot, 9)


def test_taken_back_a_sheet_can_be_laid_again_and_its_lot_stays_unless_told(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    kept, lot = keep(desk, cast, zone), lot_of(desk, cast)
    (laying,) = lay(desk, cast, kept.layout, lot, 1)
    sheets_laid.withdraw_sheets(desk, cast.lead.id, kept.layout.id, laying.id, "wrong sheet")
    assert [x.withdrawn for x in zone_view(desk, cast.lead.id, zone.id).zone.laid] == [None]
    (again,) = lay(desk, cast, kept.layout, lot, 1)
    sheets_laid.withdraw_sheets(desk, cast.lead.id, kept.layout.id, again.id, "wrong lot too", film_too=True)
    assert [x.withdrawn for x in zone_view(desk, cast.lead.id, zone.id).zone.laid] == ["wrong lot too"]


def test_a_sheet_across_two_zones_is_laid_in_one_and_its_lot_logged_in_both(
    desk: Desk, cast: Cast, slab: tuple[Zone, Zone]
) -> None:
    kept, lot = keep_layout(desk, cast.lead.id, slab[0].sketch_id, ROLL), lot_of(desk, cast)
    made = lay(desk, cast, kept.layout, lot, 1)
    assert len(made) == 1
    for zone in slab:
        laid = zone_view(desk, cast.lead.id, zone.id).zone.laid
        assert [laying.lot_id for laying in laid] == [lot]
