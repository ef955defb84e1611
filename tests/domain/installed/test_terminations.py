"""How film ends along an edge: needs and faults of each kind, where film ends, what a mark is about."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.installed.terminations import (
    ASKS,
    FAULT_WORDS,
    NEEDS,
    NEEDS_SOURCES,
    beneath,
    closes,
    closing_lines,
    termination_faults,
)
from service.domain.nouns.installed import (
    FREE_EDGE,
    IMPEDIMENT,
    JOINT,
    OVER_FOOTING,
    SHORT_OF_FOOTING,
    SLAB_TOP,
    TERMINATION_KINDS,
    TO_WALL,
    EdgeSeal,
    Px,
    Signed,
    Termination,
    Work,
)
from service.domain.nouns.rules import ready_made
from service.domain.patches.repair import Numbers
from service.domain.shapes.ground import closed_sides
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit

INCH = 25_400_000  # the international inch is exactly 25.4 mm (1959 agreement; from memory)
PER_PX = float(INCH)  # one pixel is an inch
NUMBERS = Numbers.of(ready_made("us"))
SIGNED = Signed("ana", "crew lead", datetime(2025, 3, 4, 15, tzinfo=UTC), 7)
WORK = Work(cleaned=True, dry=True, tape_width_nm=4 * INCH, film_mf=60_000, lot="T1", note="")
SEAL = EdgeSeal("s1", True, 6 * INCH, True, WORK, SIGNED)
EDGE: tuple[Px, ...] = ((0, 0), (100_000, 0))
ENDS = (OVER_FOOTING, TO_WALL, IMPEDIMENT, SLAB_TOP)


def stretch(kind: str, seal: EdgeSeal | None = SEAL, **changes: Any) -> Termination:
    """A stretch of this kind with nothing left out."""
    whole = Termination(
        "e1", "k1", "z1", "B-E01", kind, EDGE, "engineer's sketch 4", "waterstop", "", SIGNED, seal, None
    )
    return replace(whole, **changes)


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_a_stretch_ended_as_its_kind_asks_has_no_fault(kind: str) -> None:
    assert termination_faults(stretch(kind), NUMBERS) == ()


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_a_stretch_with_nothing_logged_is_not_sealed_yet(kind: str) -> None:
    assert termination_faults(stretch(kind, None), NUMBERS) == ("not-sealed-yet",)


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
@pytest.mark.parametrize(
    ("work", "fault"),
    [
        ({"cleaned": False}, "not-cleaned"),
        ({"dry": False}, "not-dry"),
        ({"tape_width_nm": 4 * INCH - 1}, "tape-narrow"),
        ({"tape_width_nm": 1}, "tape-narrow"),
        ({"film_mf": 39_999}, "too-cold"),
    ],
)
def test_work_below_the_sheet_is_a_fault_at_every_kind(kind: str, work: dict[str, Any], fault: str) -> None:
    seal = replace(SEAL, work=replace(WORK, **work))
    assert termination_faults(stretch(kind, seal), NUMBERS) == (fault,)


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_what_is_not_sealed_all_along_is_a_fault_at_every_kind(kind: str) -> None:
    assert termination_faults(stretch(kind, replace(SEAL, sealed=False)), NUMBERS) == ("not-sealed",)


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_mastic_has_no_tape_to_measure(kind: str) -> None:
    assert (
        termination_faults(stretch(kind, replace(SEAL, work=replace(WORK, tape_width_nm=0))), NUMBERS) == ()
    )


@pytest.mark.parametrize("word", ["", "   ", "\n"])
@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_film_at_a_footing_needs_the_engineers_or_the_codes_word(kind: str, word: str) -> None:
    faults = termination_faults(stretch(kind, authority=word), NUMBERS)
    assert faults == (("no-authority",) if kind in (OVER_FOOTING, SHORT_OF_FOOTING) else ())


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_an_impediment_is_named(kind: str) -> None:
    faults = termination_faults(stretch(kind, what=" "), NUMBERS)
    assert faults == (("no-impediment-named",) if kind == IMPEDIMENT else ())


@pytest.mark.parametrize("past", [None, 0, 6 * INCH - 1, 6 * INCH, 6 * INCH + 1])
@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_film_runs_past_a_joint_by_the_lap(kind: str, past: int | None) -> None:
    """The next zone's film laps it: not less than 6 in, so 6 in passes (ASTM E1643 6, from memory)."""
    short = kind == JOINT and (past is None or past < 6 * INCH)
    seal = replace(SEAL, runs_past_nm=past)
    assert termination_faults(stretch(kind, seal), NUMBERS) == (("runs-past-short",) if short else ())


def test_it_is_the_lap_and_not_the_patch_number_that_a_joint_asks() -> None:
    twelve = replace(NUMBERS, lap_nm=12 * INCH)
    assert termination_faults(stretch(JOINT), twelve) == ("runs-past-short",)
    assert termination_faults(stretch(JOINT), replace(NUMBERS, patch_overlap_nm=12 * INCH)) == ()


@pytest.mark.parametrize("protected", [None, False])
def test_film_past_a_joint_is_protected(protected: bool | None) -> None:
    seal = replace(SEAL, protected=protected)
    assert termination_faults(stretch(JOINT, seal), NUMBERS) == ("not-protected",)
    assert termination_faults(stretch(TO_WALL, seal), NUMBERS) == ()


def test_every_fault_is_told_at_once() -> None:
    work = Work(cleaned=False, dry=False, tape_width_nm=INCH, film_mf=0, lot="", note="")
    told = termination_faults(stretch(JOINT, EdgeSeal("s", False, None, None, work, SIGNED)), NUMBERS)
    seen = {*told, *termination_faults(stretch(OVER_FOOTING, None, authority=""), NUMBERS)}
    seen |= {*termination_faults(stretch(IMPEDIMENT, None, what=""), NUMBERS)}
    assert seen == set(FAULT_WORDS)


def test_a_kind_nobody_knows_is_never_without_fault() -> None:
    with pytest.raises(KeyError):
        termination_faults(stretch("glued to the sky"), NUMBERS)
    assert not closes(stretch("glued to the sky"), NUMBERS)


def test_every_kind_says_what_it_needs_and_where_that_is_from() -> None:
    for table in (NEEDS, NEEDS_SOURCES, ASKS):
        assert tuple(sorted(table)) == tuple(sorted(TERMINATION_KINDS))
    assert all(need.endswith(".") for need in NEEDS.values())


@pytest.mark.parametrize(
    ("kind", "word"),
    [
        (OVER_FOOTING, "foundation wall"),
        (TO_WALL, "grade beam"),
        (SLAB_TOP, "slab at the height of its top"),
        (IMPEDIMENT, "waterstop"),
        (IMPEDIMENT, "dowels"),
    ],
)
def test_the_perimeter_clause_of_the_standard_is_told_whole(kind: str, word: str) -> None:
    """ASTM E1643 6.5, excerpt: seal to the wall, grade beam or slab, or end at waterstops or dowels."""
    assert word in NEEDS[kind] and "E1643" in NEEDS_SOURCES[kind]


@pytest.mark.parametrize("kind", TERMINATION_KINDS)
def test_film_ends_only_where_it_is_sealed_to_something_that_stands(kind: str) -> None:
    assert closes(stretch(kind), NUMBERS) is (kind in ENDS)
    assert not closes(stretch(kind, None), NUMBERS)
    assert not closes(stretch(kind, replace(SEAL, sealed=False)), NUMBERS)
    assert not closes(stretch(kind, withdrawn="entered by mistake"), NUMBERS)


@given(
    st.sampled_from(TERMINATION_KINDS),
    st.booleans(),
    st.one_of(st.none(), st.integers(0, 12 * INCH)),
    st.one_of(st.none(), st.booleans()),
    st.builds(
        Work,
        st.booleans(),
        st.booleans(),
        st.integers(0, 6 * INCH),
        st.one_of(st.none(), st.integers(0, 90_000)),
        st.just(""),
        st.just(""),
    ),
    st.integers(0, 12 * INCH),
)
def test_a_sheet_that_asks_more_never_clears_a_stretch(
    kind: str, sealed: bool, past: int | None, protected: bool | None, work: Work, more: int
) -> None:
    ended = stretch(kind, EdgeSeal("s1", sealed, past, protected, work, SIGNED))
    stricter = replace(
        NUMBERS,
        lap_nm=NUMBERS.lap_nm + more,
        tape_width_nm=NUMBERS.tape_width_nm + more,
        tape_mf=NUMBERS.tape_mf + 1_000,
    )
    assert set(termination_faults(ended, NUMBERS)) <= set(termination_faults(ended, stricter))


def test_the_lines_of_what_closes_close_a_side_and_no_others_do() -> None:
    bent: tuple[Px, ...] = ((0, 0), (50_000, 0), (100_000, 0), (100_000, 80_000))
    sealed, open_edge = stretch(TO_WALL, path=bent), stretch(FREE_EDGE)
    lines = closing_lines([open_edge, sealed, stretch(SLAB_TOP, None)], NUMBERS)
    assert lines == (((0, 0), (50_000, 0)), ((50_000, 0), (100_000, 0)), ((100_000, 0), (100_000, 80_000)))
    hole = Rectangle(4 * INCH, 2 * INCH)
    assert closed_sides(hole, (50_000, 3_000), PER_PX, lines, 0, 6 * INCH) == {"far"}
    none = closing_lines([open_edge], NUMBERS)
    assert closed_sides(hole, (50_000, 3_000), PER_PX, none, 0, 6 * INCH) == set()


@pytest.mark.parametrize(
    ("outline", "at", "about"),
    [
        (Circle(2 * INCH), (50_000, 0), True),
        (Circle(2 * INCH), (50_000, 2_000), True),  # its rim stands exactly 1 in off
        (Circle(2 * INCH), (50_000, 2_001), False),
        (Circle(2 * INCH), (50_000, -2_000), True),
        (Circle(2 * INCH), (102_000, 0), True),
        (Rectangle(4 * INCH, 2 * INCH), (50_000, 2_000), True),
        (Rectangle(4 * INCH, 2 * INCH, 90_000_000), (50_000, 3_000), True),
        (Rectangle(4 * INCH, 2 * INCH), (50_000, 3_000), False),
        (Slit(10 * INCH, 0, 90_000_000), (50_000, 5_900), True),
        (Slit(10 * INCH, 0, 90_000_000), (50_000, 0), True),
        (Slit(10 * INCH), (50_000, 1_001), False),
        (Polygon(((-INCH, -INCH), (INCH, -INCH), (0, 3 * INCH))), (50_000, 1_900), True),
        (Rectangle(300 * INCH, 300 * INCH), (50_000, 0), True),  # the stretch lies wholly within the mark
    ],
)
def test_a_mark_within_an_inch_of_a_stretch_is_about_it(outline: Outline, at: Px, about: bool) -> None:
    far = stretch(TO_WALL, id="e2", path=((0, 900_000), (100_000, 900_000)))
    gone = stretch(TO_WALL, id="e3", withdrawn="entered by mistake")
    here = stretch(TO_WALL)
    assert beneath(outline, at, [far, gone, here], PER_PX) == ((here,) if about else ())


def test_a_mark_at_a_corner_is_about_both_stretches_and_one_with_none_near_about_none() -> None:
    first, second = stretch(TO_WALL), stretch(JOINT, id="e2", path=((100_000, 0), (100_000, 80_000)))
    assert beneath(Circle(INCH), (99_500, 500), [first, second], PER_PX) == (first, second)
    assert beneath(Circle(INCH), (99_500, 500), [], PER_PX) == ()
