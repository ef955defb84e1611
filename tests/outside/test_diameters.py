"""Outside diameters and collar lengths against the printed tables, typed here anew from each standard."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from service.domain.installed.penetrations import collar_need, girth_nm
from service.domain.installed.trade_sizes import KINDS, NoSuchSize, size_of, sizes
from service.domain.nouns.rules import ready_made
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle

NM_PER_INCH = 25_400_000
US = Numbers.of(ready_made("us"))

# Nominal size: outside diameter in inches, in millimetres, girth and 1.5 girths in inches, as printed.
# ASME B36.10M, seen in two published pipe size tables; ASTM D1785 gives PVC the same outside diameters (from
# memory, not verified). The girths are arithmetic.
IRON_PIPE = """
1/2    0.840  21.3   2.639  3.958
3/4    1.050  26.7   3.299  4.948
1      1.315  33.4   4.131  6.197
1-1/4  1.660  42.2   5.215  7.823
1-1/2  1.900  48.3   5.969  8.954
2      2.375  60.3   7.461  11.192
2-1/2  2.875  73.0   9.032  13.548
3      3.500  88.9   10.996 16.493
3-1/2  4.000  101.6  12.566 18.850
4      4.500  114.3  14.137 21.206
5      5.563  141.3  17.477 26.215
6      6.625  168.3  20.813 31.220
8      8.625  219.1  27.096 40.644
10     10.750 273.1  33.772 50.658
12     12.750 323.8  40.055 60.083
"""
# EMT by ANSI C80.3 (two published tables; one prints 1.503 for 1-1/4) and copper by ASTM B88 types K, L and M
# (published tables): outside diameter and 1.5 girths in inches.
EMT_AND_COPPER = """
1/2    0.706  3.327   0.625  2.945
3/4    0.922  4.345   0.875  4.123
1      1.163  5.481   1.125  5.301
1-1/4  1.510  7.116   1.375  6.480
1-1/2  1.740  8.200   1.625  7.658
2      2.197  10.353  2.125  10.014
2-1/2  2.875  13.548  2.625  12.370
3      3.500  16.493  3.125  14.726
4      4.500  21.206  4.125  19.439
"""
# Rigid PVC conduit, Schedule 40, published table; past 1-1/4 as pipe of the size (from memory, not verified).
RIGID_PVC = {
    "1/2": "0.840", "3/4": "1.050", "1": "1.315", "1-1/4": "1.660", "1-1/2": "1.900", "2": "2.375",
    "2-1/2": "2.875", "3": "3.500", "3-1/2": "4.000", "4": "4.500", "5": "5.563", "6": "6.625",
}  # fmt: skip
# ASTM D3034 (from memory, not verified).
SEWER = {"4": "4.215", "6": "6.275", "8": "8.400"}
# ASTM A615, published bar table: nominal diameter in inches and nominal area in square inches.
BARS = """
#3 0.375 0.11
#4 0.500 0.20
#5 0.625 0.31
#6 0.750 0.44
#7 0.875 0.60
#8 1.000 0.79
#9 1.128 1.00
#10 1.270 1.27
#11 1.410 1.56
#14 1.693 2.25
#18 2.257 4.00
"""


def rows(table: str) -> list[list[str]]:
    return [line.split() for line in table.strip().splitlines()]


def nm(inches: str) -> int:
    exact = Fraction(inches) * NM_PER_INCH
    assert exact.denominator == 1
    return int(exact)


def collar_in(kind: str, name: str) -> float:
    return collar_need(Circle(size_of(kind, name).od_nm), US).length_nm / NM_PER_INCH


@pytest.mark.parametrize("kind", ["steel pipe", "PVC pipe"])
@pytest.mark.parametrize("row", rows(IRON_PIPE), ids=lambda row: row[0])
def test_pipe_has_the_outside_diameter_and_collar_of_the_published_table(kind: str, row: list[str]) -> None:
    name, inches, mm, girth, collar = row
    size = size_of(kind, name)
    assert (size.name, size.od_nm) == (f"NPS {name}", nm(inches))
    assert size.od_nm / 1e6 == pytest.approx(float(mm), abs=0.051)
    assert girth_nm(Circle(size.od_nm)) / NM_PER_INCH == pytest.approx(float(girth), abs=0.00051)
    assert collar_in(kind, name) == pytest.approx(float(collar), abs=0.00051)


@pytest.mark.parametrize("row", rows(EMT_AND_COPPER), ids=lambda row: row[0])
def test_conduit_and_copper_have_the_published_outside_diameters_and_collars(row: list[str]) -> None:
    name, emt, emt_collar, copper, copper_collar = row
    assert size_of("EMT conduit", name).od_nm == nm(emt)
    assert collar_in("EMT conduit", name) == pytest.approx(float(emt_collar), abs=0.00051)
    assert size_of("copper tube", name).od_nm == nm(copper)
    assert collar_in("copper tube", name) == pytest.approx(float(copper_collar), abs=0.00051)


def test_copper_is_its_nominal_size_and_an_eighth() -> None:
    """ASTM B88: the outside diameter is 1/8 in more than the nominal size."""
    for size in sizes("copper tube"):
        nominal = sum(Fraction(part) for part in size.name.removesuffix(" in").split("-"))
        assert size.od_nm == (nominal + Fraction(1, 8)) * NM_PER_INCH


@pytest.mark.parametrize("name", RIGID_PVC)
def test_rigid_conduit_is_as_thick_as_pipe_of_its_size(name: str) -> None:
    assert size_of("rigid PVC conduit", name).od_nm == nm(RIGID_PVC[name])


@pytest.mark.parametrize("name", SEWER)
def test_sewer_pipe_is_remembered_and_says_so(name: str) -> None:
    size = size_of("SDR 35 sewer pipe", name)
    assert size.od_nm == nm(SEWER[name])
    assert "from memory, not verified" in size.source and "ASTM D3034" in size.source


@pytest.mark.parametrize("row", rows(BARS), ids=lambda row: row[0])
def test_a_bar_has_the_nominal_diameter_and_area_of_the_published_table(row: list[str]) -> None:
    """#8 is 1.000 in and #9 is 1.128 in; eighths of an inch stop at #8."""
    name, inches, area = row
    size = size_of("reinforcing bar", name)
    assert (size.name, size.od_nm) == (name, nm(inches))
    assert math.pi / 4 * float(inches) ** 2 == pytest.approx(float(area), abs=0.0051)


def test_no_table_holds_a_size_that_was_not_checked_here() -> None:
    typed = {
        "steel pipe": len(rows(IRON_PIPE)), "PVC pipe": len(rows(IRON_PIPE)),
        "EMT conduit": len(rows(EMT_AND_COPPER)), "copper tube": len(rows(EMT_AND_COPPER)),
        "rigid PVC conduit": len(RIGID_PVC), "SDR 35 sewer pipe": len(SEWER),
        "reinforcing bar": len(rows(BARS)),
    }  # fmt: skip
    assert {kind: len(sizes(kind)) for kind in KINDS if sizes(kind)} == typed


@pytest.mark.parametrize(
    ("kind", "name", "inches"),
    [
        ("steel pipe", "4", 21.206),  # published pipe size table: 4.500 in outside, not 4.0
        ("steel pipe", "2", 11.192),  # published pipe size tables
        ("steel pipe", "12", 60.083),
        ("copper tube", "1", 5.301),  # ASTM B88 tables: differs from NPS 1 (6.197)
        ("EMT conduit", "1", 5.481),  # published conduit table: differs from NPS 1 (6.197)
        ("steel pipe", "1", 6.197),
    ],
)
def test_a_collar_is_one_and_a_half_girths_of_the_true_outside(kind: str, name: str, inches: float) -> None:
    """1.5 times the circumference is common practice, no source; held to 0.01 in."""
    assert collar_in(kind, name) == pytest.approx(inches, abs=0.01)


def test_no_larger_pipe_of_a_kind_is_listed_before_a_smaller_one() -> None:
    for kind in KINDS:
        diameters = [size.od_nm for size in sizes(kind)]
        assert diameters == sorted(set(diameters))


def test_a_nominal_size_that_no_standard_has_is_refused() -> None:
    """ASTM A615 has no bars #12, #13 or #17, and B36.10M no NPS 7 or 9 of this list."""
    for kind, name in (("reinforcing bar", "#12"), ("reinforcing bar", "#17"), ("steel pipe", "7")):
        with pytest.raises(NoSuchSize):
            size_of(kind, name)
