"""How many moisture tests a floor needs: against the published counts, exact at every limit.

The counts are ASTM F2170's as a checklist of 2018 tells them: 3 for the first 1000 ft² (100 m²), then at
least 1 for each additional 1000 ft². Row 48 of the trade table has them: 1, 1000, 1001, 2000, 5000 and
12 500 ft² give 3, 3, 4, 4, 7 and 15.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.site import Px, Scale
from service.domain.rule_sheet.floor_tests import (
    DEPTH_BOTH_FACES,
    LIMITS_OF_THIS,
    Said,
    count_for,
    depth_of,
    emission,
    floor_area,
    in_slab,
    say_floor,
)
from service.domain.rule_sheet.vapor import lb_per_1000_sq_ft_day
from service.domain.words.measures import Units

INCH = 25_400_000
SQUARE_FOOT, SQUARE_METRE = (12 * INCH) ** 2, 10**18
AREAS = st.integers(1, 10**25)


def ring(*corners: tuple[float, float]) -> tuple[Px, ...]:
    return tuple((round(x * 1000), round(y * 1000)) for x, y in corners)


@pytest.mark.parametrize(
    ("feet", "count"), [(1, 3), (1000, 3), (1001, 4), (2000, 4), (2001, 5), (5000, 7), (12_500, 15)]
)
def test_the_counts_are_those_published_in_square_feet(feet: int, count: int) -> None:
    """ASTM F2170, as told by a checklist of 2018."""
    assert count_for(feet * SQUARE_FOOT, "us") == count


@pytest.mark.parametrize(("metres", "count"), [(1, 3), (100, 3), (101, 4), (200, 4), (201, 5), (1160, 14)])
def test_a_metric_project_is_held_to_the_metric_figure_printed_beside_it(metres: int, count: int) -> None:
    """100 m², as the same checklist prints it; the step beyond it is the same figure."""
    assert count_for(metres * SQUARE_METRE, "metric") == count


@pytest.mark.parametrize(("units", "step"), [("us", 1000 * SQUARE_FOOT), ("metric", 100 * SQUARE_METRE)])
def test_a_square_nanometre_past_a_limit_asks_for_one_more(units: Units, step: int) -> None:
    for limit, count in ((step, 3), (2 * step, 4), (1000 * step, 1002)):
        assert count_for(limit, units) == count
        assert count_for(limit + 1, units) == count + 1
        assert count_for(Fraction(2 * limit + 1, 2), units) == count + 1


@pytest.mark.parametrize("area", [0, -1])
def test_no_floor_has_no_count(area: int) -> None:
    with pytest.raises(ValueError, match="has an area"):
        count_for(area, "us")


@given(AREAS, st.sampled_from(("us", "metric")))
def test_the_area_as_it_is_shown_asks_for_as_many_tests_as_the_area_itself(area: int, units: Units) -> None:
    shown = int(say_floor(area, units).split(" ")[0].replace(",", ""))
    each = SQUARE_FOOT if units == "us" else SQUARE_METRE
    assert count_for(shown * each, units) == count_for(area, units)
    assert 0 <= shown * each - area < each


@given(AREAS, AREAS, st.sampled_from(("us", "metric")))
def test_zones_counted_one_by_one_never_ask_for_fewer_than_the_slab_as_one(
    a: int, b: int, units: Units
) -> None:
    assert count_for(a, units) + count_for(b, units) >= count_for(a + b, units)
    assert count_for(a + b, units) >= count_for(a, units)


def test_an_area_is_exact_whatever_the_scale() -> None:
    """50 by 20 ft is 1000 ft², at 10 px to the foot, and along a slanting scale with no whole length."""
    corners = ring((100, 100), (600, 100), (600, 300), (100, 300))
    straight = Scale((0, 0), (1_000_000, 0), 1200 * INCH)
    assert floor_area(corners, straight) == 1000 * SQUARE_FOOT
    # From 0/0 to 1/1 px is the root of two: its square is whole, and no root is ever taken.
    slanting = Scale((0, 0), (1000, 1000), 12 * INCH)
    square = ring((0, 0), (1, 1), (0, 2), (-1, 1))
    assert floor_area(square, slanting) == SQUARE_FOOT
    assert count_for(floor_area(corners, straight), "us") == 3
    nudged = ((100_000, 100_000), (600_000, 100_000), (600_000, 300_000), (100_000, 300_001))
    assert count_for(floor_area(nudged, straight), "us") == 4


def test_an_area_is_the_same_either_way_round_and_a_scale_of_one_point_has_none() -> None:
    scale = Scale((0, 0), (1_000_000, 0), 1200 * INCH)
    corners = ring((0, 0), (30, 0), (30, 10), (10, 10), (10, 40), (0, 40))  # an L of 3 by 1 and 1 by 3 ft
    assert floor_area(corners, scale) == 6 * SQUARE_FOOT == floor_area(corners[::-1], scale)
    with pytest.raises(ValueError, match="lie apart"):
        floor_area(corners, Scale((5, 5), (5, 5), INCH))


def test_a_probe_on_a_retarder_sits_two_fifths_down() -> None:
    """ASTM F2170: 40 % of the slab where its top alone dries, 20 % where both faces do (a checklist of 2018);
    row 49 of the trade table: 2.0 in of 5 in."""
    assert depth_of(5 * INCH) == 2 * INCH
    assert depth_of(5 * INCH, DEPTH_BOTH_FACES) == INCH
    assert "2 in in a slab 5 in thick" in words(in_slab("us"), "How deep")
    assert "50 mm in a slab 125 mm thick" in words(in_slab("metric"), "How deep")
    assert depth_of(125_000_000) == 50_000_000


def words(rows: tuple[Said, ...], term: str) -> str:
    [found] = [row.words for row in rows if row.term == term]
    return found


SECTION_8 = [
    # test, term, what must stand in its words, what its source must say
    ("in slab", "Gives", "relative humidity", "F2170-19a"),
    ("in slab", "How many", "3 for the first 1,000 sq ft", "F2170, as told by a checklist of 2018"),
    ("in slab", "How deep", "40 %", "checklist of 2018"),
    ("in slab", "Before it", "48 h", "checklist of 2018"),
    ("in slab", "Wait", "24 h", "checklist of 2018"),
    ("in slab", "Wait, older editions", "72 h", "address is withheld"),
    ("in slab", "Probe", "30 days", "checklist of 2018"),
    ("in slab", "Common limit", "75 %", "from memory, high confidence"),
    ("in slab", "Limits by product", "80, 85 or 90 %", "address is withheld"),
    ("emission", "Gives", "lb for 1,000 sq ft in 24 h", "F1869-11, its scope"),
    ("emission", "How many", "3 for the first 1,000 sq ft", "from memory, high confidence"),
    ("emission", "Before it", "75 ± 10 °F (24 ± 6 °C) and 50 ± 10 %", "from memory, high confidence"),
    ("emission", "Wait", "60 to 72 h", "address is withheld"),
    ("emission", "Scale", "0.1 g", "from memory"),
    ("emission", "Not for", "lightweight aggregate or gypsum", "F1869-11, its scope, 1.2 and 1.3"),
    ("emission", "Common limit", "3 lb for 1,000 sq ft in 24 h; also 5 lb", "magazine"),
]


@pytest.mark.parametrize(("test", "term", "value", "source"), SECTION_8, ids=lambda part: part[:24])
def test_every_value_stands_with_its_source_as_the_trade_facts_mark_it(
    test: str, term: str, value: str, source: str
) -> None:
    rows = in_slab("us") if test == "in slab" else emission("us")
    [found] = [row for row in rows if row.term == term]
    assert value in found.words
    assert source in found.source


def test_the_metric_limits_are_the_same_emission() -> None:
    """3 lb and 5 lb for 1000 ft² in 24 h are 169.5 and 282.5 µg/(s m²), worked out from 0.45359237 kg and
    0.09290304 m²."""
    assert "3 lb for 1,000 sq ft in 24 h, about 170 µg" in words(emission("metric"), "Common limit")
    assert lb_per_1000_sq_ft_day(170e-9) == pytest.approx(3, rel=0.005)
    assert "5 lb, about 283 µg" in words(emission("metric"), "Common limit")
    assert lb_per_1000_sq_ft_day(283e-9) == pytest.approx(5, rel=0.005)


def test_what_may_not_be_concluded_is_said() -> None:
    told = " ".join(LIMITS_OF_THIS)
    assert "Laptight does not measure the slab" in told
    assert "maker of the floor covering" in told
