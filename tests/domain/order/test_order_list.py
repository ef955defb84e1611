"""The order list against sums worked by hand here, from the trade's own figures."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from service.domain.nouns.installed import END_LAP, FREE_EDGE, JOINT, SHORT_OF_FOOTING, SIDE_LAP, TO_WALL
from service.domain.nouns.rules import ready_made
from service.domain.order.asked import (
    NOT_DESCRIBED,
    BadOrder,
    DeliveryAsked,
    EdgeToEnd,
    GroupToDam,
    OrderAsked,
    PipeToSeal,
    RepairsExpected,
    SeamToTape,
    SheetToCut,
    ZoneAsked,
    as_cut,
)
from service.domain.order.order_list import FAULT_WORDS, OrderList, order_list
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle, Rectangle

INCH = 25_400_000
FOOT = 12 * INCH
# 1 sq ft is 92,903.04 square millimetres (the international foot is 0.3048 m).
THOUSAND_FT2 = 92_903_040
US = Numbers.of(ready_made("us"))
NO_REPAIRS = RepairsExpected(0, 18 * INCH, 16 * INCH)
# NPS 4 and NPS 1/2: outside diameters 4.500 and 0.840 in (ASME B36.10M).
NPS_4, NPS_HALF = Circle(4500 * 25_400), Circle(840 * 25_400)


def sheets(letter: str, *feet: float, width: float = 15) -> tuple[SheetToCut, ...]:
    return tuple(
        SheetToCut(f"{letter} {i}", round(each * FOOT), round(width * FOOT)) for i, each in enumerate(feet, 1)
    )


def a_zone(letter: str = "A", **changed: Any) -> ZoneAsked:
    return ZoneAsked(letter, **{"area_mm2": 2 * THOUSAND_FT2, "numbers": US, **changed})


def an_order(*zones: ZoneAsked, **changed: Any) -> OrderList:
    """Rolls 15 by 200 ft, tape 4 in by 180 ft (common practice, no source)."""
    asked = OrderAsked(zones, 15 * FOOT, 200 * FOOT, 4 * INCH, 180 * FOOT, NO_REPAIRS)
    return order_list(replace(asked, **changed))


def tape(order: OrderList) -> dict[str, float]:
    return {each.use: each.nm / FOOT for each in order.tape.uses if each.nm}


# Rolls.


def test_sheets_are_cut_from_the_fewest_rolls_and_every_roll_names_its_own() -> None:
    """120 + 80, 150 + 50, 100 + 100 ft fill three rolls of 200 ft with nothing left."""
    film = an_order(a_zone(sheets=sheets("A", 120, 150, 100, 80, 50, 100))).film
    assert film.sheet_rolls == film.bound == film.counts.to_order == 3
    assert film.proved
    assert [sorted(sheet.cut_length_nm // FOOT for sheet in roll.sheets) for roll in film.rolls] == [
        [80, 120],
        [50, 150],
        [100, 100],
    ]
    assert {sheet.name for roll in film.rolls for sheet in roll.sheets} == {f"A {i}" for i in range(1, 7)}
    assert film.waste_nm2 == 0 == film.waste_mpct


def test_waste_is_what_is_cut_into_less_what_is_placed_with_a_ripped_sheet_at_its_own_width() -> None:
    """Two rolls of 15 by 200 ft are 6,000 sq ft; 150 by 15, 100 by 15 and 100 by 9 ft are 4,650."""
    zone = a_zone(sheets=(*sheets("A", 150, 100), *sheets("B", 100, width=9)))
    film = an_order(zone).film
    assert film.sheet_rolls == 2
    assert film.cut_from_nm2 == 6000 * FOOT**2
    assert film.waste_nm2 == 1350 * FOOT**2
    assert film.waste_mpct == 22_500
    assert sorted((each.length_nm // FOOT, each.width_nm // FOOT) for each in film.offcuts) == [
        (50, 15),
        (100, 6),
    ]


def test_the_allowance_and_the_stock_stand_apart_and_take_nothing_from_what_is_needed() -> None:
    """Five rolls; 10 per cent of five is half a roll, so one; two lie on site."""
    zone = a_zone(sheets=sheets("A", *[200] * 5))
    counts = an_order(zone, film_allowance_mpct=10_000, film_in_stock=2).film.counts
    assert (counts.needed, counts.allowance, counts.stock, counts.to_order, counts.left_over) == (
        5,
        1,
        2,
        4,
        0,
    )
    bare = an_order(zone).film.counts
    assert (bare.needed, bare.allowance, bare.to_order) == (5, 0, 5)


def test_stock_beyond_the_need_orders_nothing_and_is_told_as_left_over() -> None:
    zone = a_zone(sheets=sheets("A", 200, 200), seams=(SeamToTape(SIDE_LAP, 100 * FOOT),))
    order = an_order(zone, film_in_stock=7, tape_in_stock=3)
    assert (order.film.counts.stock, order.film.counts.to_order, order.film.counts.left_over) == (2, 0, 5)
    assert (order.tape.counts.stock, order.tape.counts.to_order, order.tape.counts.left_over) == (1, 0, 2)


# Tape.


def test_tape_is_counted_by_use_and_only_where_film_ends_at_something_that_stands() -> None:
    zone = a_zone(
        seams=(
            SeamToTape(SIDE_LAP, 300 * FOOT),
            SeamToTape(SIDE_LAP, 200 * FOOT),
            SeamToTape(END_LAP, 40 * FOOT),
        ),
        edges=(
            EdgeToEnd(TO_WALL, 90 * FOOT),
            EdgeToEnd(JOINT, 60 * FOOT),
            EdgeToEnd(FREE_EDGE, 50 * FOOT),
            EdgeToEnd(SHORT_OF_FOOTING, 20 * FOOT),
            EdgeToEnd(NOT_DESCRIBED, 10 * FOOT),
        ),
    )
    order = an_order(zone)
    assert tape(order) == {
        "side laps": 500,
        "end laps": 40,
        "edges where film ends": 90,
        "edges nobody has described yet": 10,
    }
    assert order.tape.total_nm == 640 * FOOT
    assert order.tape.counts.needed == 4, "640 ft off rolls of 180 ft"
    assert "edges-not-described" in order.faults


def test_tape_round_a_collar_goes_round_the_pipe_down_its_lap_and_round_its_fingers() -> None:
    """NPS 4: girth pi x 4.5 and a tape's width over, 12 in of lap, four sides of 4.5 and twice 6 in."""
    (feet,) = tape(an_order(a_zone(pipes=(PipeToSeal("A-P01", NPS_4),)))).values()
    assert math.isclose(feet * 12, math.pi * 4.5 + 4 + 12 + 4 * 16.5, rel_tol=1e-9)


def test_the_tape_allowance_is_a_length_of_its_own_and_rolls_are_rounded_up_once_over_both() -> None:
    """640 ft is 4 rolls of 180 ft with 80 ft to spare: 10 per cent is 64 ft and needs no fifth, 15 does."""
    zone = a_zone(seams=(SeamToTape(SIDE_LAP, 640 * FOOT),))
    ten, fifteen = (an_order(zone, tape_allowance_mpct=mpct).tape for mpct in (10_000, 15_000))
    assert (ten.allowance_nm, ten.counts.needed, ten.counts.allowance) == (64 * FOOT, 4, 0)
    assert (fifteen.allowance_nm, fifteen.counts.needed, fifteen.counts.allowance) == (96 * FOOT, 4, 1)


# Penetrations.


def test_collars_stand_by_size_and_what_mastic_may_seal_gets_a_bead_instead() -> None:
    """NPS 4: 1.5 girths are 21.206 in; mastic up to 1 in of outside diameter (common practice, no source)."""
    pipes = PipeToSeal("A-P01", NPS_4), PipeToSeal("A-P02", NPS_4), PipeToSeal("A-P03", NPS_HALF)
    order = an_order(a_zone(sheets=sheets("A", 100), pipes=pipes))
    (size,) = order.collars
    assert (size.count, size.tags, size.width_nm) == (2, ("A-P01", "A-P02"), 12 * INCH)
    assert math.isclose(size.length_nm / INCH, 21.206, abs_tol=0.001)
    assert order.mastic.beads == 1
    assert math.isclose(order.mastic.bead_nm / INCH, 2.639, abs_tol=0.001)
    # A bead of half an inch by half an inch.
    assert math.isclose(order.mastic.volume_mm3 / 25.4**3, 2.639 / 4, abs_tol=0.001)


def test_a_group_takes_a_sheet_under_a_dam_taped_round_and_sealant_an_inch_deep() -> None:
    """Sheet 30 by 24 in: the pipes stand in 18 by 12, so the dam holds 20 by 14 in by 1 in."""
    group = GroupToDam(("A-P01", "A-P02"), 30 * INCH, 24 * INCH)
    order = an_order(a_zone(sheets=sheets("A", 100), groups=(group,)))
    assert tape(order) == {"sheets under dams": 9}
    assert order.mastic.dams == 1
    assert math.isclose(order.mastic.volume_mm3 / 25.4**3, 280, abs_tol=0.001)


def test_a_square_duct_takes_a_collar_by_its_own_girth() -> None:
    order = an_order(a_zone(pipes=(PipeToSeal("A-P01", Rectangle(12 * INCH, 8 * INCH, 0)),)))
    assert order.collars[0].length_nm == 60 * INCH


# Offcuts and repairs.


def test_collars_and_patches_come_off_offcuts_before_a_roll_is_opened_for_them() -> None:
    pipes = tuple(PipeToSeal(f"A-P{i:02}", NPS_4) for i in range(20))
    zone = a_zone(sheets=sheets("A", 190), pipes=pipes)
    order = an_order(zone, repairs=RepairsExpected(2000, 18 * INCH, 16 * INCH))
    assert order.repairs == 4
    assert (order.film.sheet_rolls, order.film.collar_rolls, order.film.repair_rolls) == (1, 0, 0)
    (offcut,) = order.film.offcuts
    pieces = [piece for row in offcut.rows for piece in row.pieces]
    assert sorted(tag for piece in pieces for tag in piece.tags) == sorted(pipe.tag for pipe in pipes)
    assert sum(not piece.tags for piece in pieces) == 4
    assert 0 <= offcut.left_nm < 10 * FOOT


def test_what_no_offcut_serves_opens_a_roll_that_is_counted_apart() -> None:
    full = a_zone(sheets=sheets("A", 200))
    collar = an_order(replace(full, pipes=(PipeToSeal("A-P01", NPS_4),))).film
    assert (collar.sheet_rolls, collar.collar_rolls, collar.repair_rolls, collar.counts.needed) == (
        1,
        1,
        0,
        2,
    )
    repair = an_order(full, repairs=RepairsExpected(1000, 18 * INCH, 16 * INCH)).film
    assert (repair.sheet_rolls, repair.collar_rolls, repair.repair_rolls, repair.counts.needed) == (
        1,
        0,
        1,
        2,
    )


@pytest.mark.parametrize(
    ("ft2", "per_1000_m", "count"),
    [(1000, 2000, 2), (1001, 2000, 3), (1000, 0, 0), (500, 1, 1), (4000, 500, 2)],
)
def test_expected_repairs_are_the_persons_number_rounded_up(ft2: int, per_1000_m: int, count: int) -> None:
    """So many for each 1,000 sq ft, the rate in thousandths; exactly 1,000 sq ft asks for no more."""
    zone = a_zone(area_mm2=round(ft2 * 92_903.04))
    assert an_order(zone, repairs=RepairsExpected(per_1000_m, INCH, INCH)).repairs == count


def test_repairs_of_the_zones_add_up_to_those_of_the_slab() -> None:
    zones = [a_zone(letter, area_mm2=THOUSAND_FT2 // 3) for letter in "ABC"]
    order = an_order(*zones, repairs=RepairsExpected(1000, INCH, INCH))
    assert [zone.repairs for zone in order.zones] == [1, 0, 0]
    assert order.repairs == 1, "one in 1,000 sq ft, and not one in each third of it"


def test_a_piece_larger_than_the_roll_is_told_and_not_lost() -> None:
    """A column 6 ft through wants a collar of 28 ft, which comes off the roll along it; 50 ft off no roll."""
    wide = Circle(6 * FOOT)
    assert an_order(a_zone(pipes=(PipeToSeal("A-P01", wide),))).film.unserved == ()
    short = an_order(a_zone(pipes=(PipeToSeal("A-P01", wide),)), roll_length_nm=20 * FOOT)
    assert short.film.unserved == ("A-P01",)
    assert "piece-too-large" in short.faults


# Zones and deliveries.


def two_deliveries(**changed: Any) -> OrderList:
    a = a_zone("A", sheets=sheets("A", 120, 120), seams=(SeamToTape(SIDE_LAP, 170 * FOOT),))
    b = a_zone("B", sheets=sheets("B", 80, 80, 150), seams=(SeamToTape(SIDE_LAP, 170 * FOOT),))
    c = a_zone("C", sheets=sheets("C", 200))
    deliveries = (DeliveryAsked("first", ("A",)), DeliveryAsked("second", ("B",)))
    return an_order(a, b, c, deliveries=deliveries, **changed)


def test_a_roll_comes_with_the_first_delivery_that_a_sheet_of_it_is_for() -> None:
    """120 + 80 ft twice: both rolls come with the first delivery, and what is in none comes last."""
    order = two_deliveries()
    assert [delivery.label for delivery in order.deliveries] == ["first", "second", ""]
    assert [delivery.zone_ids for delivery in order.deliveries] == [("A",), ("B",), ("C",)]
    assert [delivery.film.needed for delivery in order.deliveries] == [2, 1, 1]
    assert [roll.delivery for roll in order.film.rolls] == [0, 0, 1, 2]


def test_tape_left_of_an_earlier_delivery_is_used_up_first() -> None:
    """170 ft, then 170 ft: two rolls of 180 ft give 340, and the third delivery takes none."""
    assert [delivery.tape.needed for delivery in two_deliveries().deliveries] == [1, 1, 0]


def test_a_piece_is_never_cut_from_film_that_comes_later() -> None:
    late = a_zone("B", sheets=sheets("B", 100))
    early = a_zone("A", sheets=sheets("A", 200), pipes=(PipeToSeal("A-P01", NPS_4),))
    deliveries = (DeliveryAsked("first", ("A",)), DeliveryAsked("second", ("B",)))
    film = an_order(early, late, deliveries=deliveries).film
    assert film.collar_rolls == 1 and not film.offcuts[0].rows
    assert an_order(early, late).film.collar_rolls == 0


@pytest.mark.parametrize("stock", [0, 1, 3, 9])
@pytest.mark.parametrize("mpct", [0, 5_000, 40_000])
def test_deliveries_add_up_to_the_order_and_nothing_is_negative(stock: int, mpct: int) -> None:
    order = two_deliveries(
        film_in_stock=stock, tape_in_stock=stock, film_allowance_mpct=mpct, tape_allowance_mpct=mpct
    )
    for whole, parts in (
        (order.film.counts, [delivery.film for delivery in order.deliveries]),
        (order.tape.counts, [delivery.tape for delivery in order.deliveries]),
    ):
        for name in ("needed", "allowance", "stock", "to_order"):
            assert getattr(whole, name) == sum(getattr(part, name) for part in parts)
        for part in (whole, *parts):
            assert min(part.needed, part.allowance, part.stock, part.to_order, part.left_over) >= 0
            assert part.to_order == part.needed + part.allowance - part.stock
        assert whole.left_over == stock - whole.stock == parts[-1].left_over
    assert order.film.counts.needed == 4
    assert order.film.counts.allowance == math.ceil(4 * mpct / 100_000)
    assert order.tape.counts.needed + order.tape.counts.allowance == math.ceil(340 * (1 + mpct / 1e5) / 180)


def test_zones_add_up_to_the_tape_of_the_order() -> None:
    order = two_deliveries(repairs=RepairsExpected(2500, 18 * INCH, 16 * INCH))
    assert sum(zone.tape_nm for zone in order.zones) == order.tape.total_nm
    assert sum(zone.repairs for zone in order.zones) == order.repairs == 15
    assert [zone.film_nm2 for zone in order.zones] == [15 * ft * FOOT**2 for ft in (240, 310, 200)]


def test_a_zone_with_nothing_laid_out_is_in_the_list_and_said_to_be_missing() -> None:
    order = an_order(a_zone(sheets=sheets("A", 100)), a_zone("B"))
    assert order.faults == ("no-sheets",)
    assert order.zones[1].sheets == 0
    assert set(order.faults) <= set(FAULT_WORDS)


def test_tape_narrower_than_the_rule_sheet_asks_is_told() -> None:
    zone = a_zone(sheets=sheets("A", 100))
    assert "tape-narrow" in an_order(zone, tape_width_nm=4 * INCH - 1).faults
    assert not an_order(zone, tape_width_nm=4 * INCH).faults


def test_an_order_of_nothing_is_nothing() -> None:
    order = an_order(a_zone())
    assert order.film.counts.to_order == order.tape.counts.to_order == order.film.waste_mpct == 0


# What cannot be worked out.


@pytest.mark.parametrize(
    ("zones", "changed", "code"),
    [
        ([a_zone(sheets=sheets("A", 201))], {}, "longer-than-roll"),
        ([a_zone(sheets=sheets("A", 100, width=15.1))], {}, "wider-than-roll"),
        ([a_zone(sheets=sheets("A", 0))], {}, "no-length"),
        ([a_zone(), a_zone()], {}, "zone-twice"),
        ([a_zone(sheets=sheets("A", 1) * 2)], {}, "name-twice"),
        ([a_zone()], {"roll_width_nm": 0}, "no-roll"),
        ([a_zone()], {"film_in_stock": -1}, "bad-stock"),
        ([a_zone()], {"tape_allowance_mpct": -1}, "bad-allowance"),
        ([a_zone()], {"film_allowance_mpct": 100_001}, "bad-allowance"),
        ([a_zone()], {"repairs": RepairsExpected(-1, INCH, INCH)}, "bad-repairs"),
        ([a_zone()], {"repairs": RepairsExpected(10**9, INCH, INCH)}, "too-much"),
        ([a_zone(seams=(SeamToTape(SIDE_LAP, -1),))], {}, "bad-length"),
        ([a_zone(edges=(EdgeToEnd("a fence", 1),))], {}, "no-such-kind"),
        (
            [a_zone()],
            {"deliveries": (DeliveryAsked("1", ("A",)), DeliveryAsked("2", ("A",)))},
            "two-deliveries",
        ),
    ],
)
def test_what_cannot_be_ordered_is_refused_with_its_reason(
    zones: list[ZoneAsked], changed: dict[str, Any], code: str
) -> None:
    with pytest.raises(BadOrder) as refused:
        an_order(*zones, **changed)
    assert refused.value.code == code
    assert str(refused.value).endswith(".")


@pytest.mark.parametrize(
    ("units", "nm", "cut"), [("us", INCH // 16, INCH // 16), ("us", INCH // 16 + 1, INCH // 8)]
)
def test_what_is_cut_is_what_is_read_never_less(units: Any, nm: int, cut: int) -> None:
    assert as_cut(nm, units) == cut
    assert as_cut(1_000_001, "metric") == 2_000_000
