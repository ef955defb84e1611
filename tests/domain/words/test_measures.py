"""Lengths as typed and as shown: exact where they decide, never shown better than they are."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.domain.words import measures
from service.domain.words.measures import (
    NM_PER_FOOT,
    NM_PER_INCH,
    NM_PER_MM,
    BadLength,
    Toward,
    Units,
    area_json,
    length_json,
    parse_factor,
    parse_length,
    say_area,
    say_distance,
    say_length,
    say_perimeter,
    say_sides,
    turn,
)

INCH, MM, FOOT = NM_PER_INCH, NM_PER_MM, NM_PER_FOOT
READ = {
    "6 in": 6 * INCH,
    "6in": 6 * INCH,
    " 6   IN ": 6 * INCH,
    "6 in.": 6 * INCH,
    "6 1/2 in": 165_100_000,
    "6-1/2 in": 165_100_000,
    "6 - 1/2 in": 165_100_000,
    "6.5 in": 165_100_000,
    '6.5"': 165_100_000,
    "6,5 in": 165_100_000,
    ".5 in": 12_700_000,
    "1/64 in": 396_875,
    "5/8 inch": 15_875_000,
    "1 inch": INCH,
    "2 Inches": 2 * INCH,
    "6½ in": 165_100_000,
    "6 ½″": 165_100_000,
    "½ in": 12_700_000,
    "6⅝ in": 168_275_000,
    "6 1⁄2 in": 165_100_000,
    "1 ft 3 in": 15 * INCH,
    "1'-3 1/2\"": 15 * INCH + INCH // 2,
    "1′-3½″": 15 * INCH + INCH // 2,
    "1' 3''": 15 * INCH,
    "12'-6\"": 150 * INCH,
    "12’ 6”": 150 * INCH,
    "5'": 5 * FOOT,
    "20 ft": 20 * FOOT,
    "20 feet": 20 * FOOT,
    "1 foot": FOOT,
    "2.5 ft": 30 * INCH,
    "150 mm": 150 * MM,
    "15 cm": 150 * MM,
    "0.15 m": 150 * MM,
    "0,15 m": 150 * MM,
    "0,150 m": 150 * MM,
    "10000 m": 10_000_000 * MM,
}
REFUSED = {
    "6": "no-unit",
    "6 1/2": "no-unit",
    "six": "no-number",
    "-3 in": "signed",
    "−3 in": "signed",
    "+3 in": "signed",
    "0 in": "zero",
    "0'-0\"": "zero",
    "1e9 ft": "scientific",
    "1e3 in": "scientific",
    "10001 m": "too-big",
    "99999999999999999999 mm": "too-big",
    "5'13\"": "inches-past-foot",
    "5'-12\"": "inches-past-foot",
    "1/0 in": "zero-below",
    "6 7/5 in": "improper",
    "6 2/2 in": "improper",
    "": "empty",
    "   ": "empty",
    "1" * 41: "too-long",
    "nan in": "no-number",
    "inf ft": "no-number",
    "٣ in": "no-number",
    "６ in": "no-number",
    "1,000 ft": "comma",
    "0.0000000001 mm": "too-small",
    "6 in 5": "unreadable",
    "6 in in": "unreadable",
    "5' 6 ft": "unreadable",
    "1.2.3 in": "unreadable",
    "6 yards": "unreadable",
    "3 in 2 ft": "unreadable",
}


@pytest.mark.parametrize(("text", "nm"), READ.items())
def test_a_length_is_read_to_the_nanometre(text: str, nm: int) -> None:
    assert parse_length(text) == nm


@pytest.mark.parametrize(("text", "code"), REFUSED.items())
def test_what_is_no_length_is_refused_with_its_own_reason(text: str, code: str) -> None:
    with pytest.raises(BadLength) as refused:
        parse_length(text)
    assert refused.value.code == code
    assert str(refused.value).endswith((".", "?"))


def test_each_refusal_has_its_own_sentence() -> None:
    sentences: dict[str, set[str]] = {}
    for text, code in REFUSED.items():
        with pytest.raises(BadLength) as refused:
            parse_length(text)
        sentences.setdefault(str(refused.value).removeprefix(text), set()).add(code)
    assert all(len(codes) == 1 for codes in sentences.values())


def test_nothing_is_read_where_nothing_is_allowed() -> None:
    assert parse_length("0 in", zero_ok=True) == 0
    assert parse_length("0 mm", zero_ok=True) == 0


def test_a_length_between_nanometres_takes_the_even_one() -> None:
    assert parse_length("0.0000015 mm") == 2
    assert parse_length("0.0000025 mm") == 2


@given(st.text(max_size=60))
@example("\x00 in")
@example("1/" + "9" * 38)
def test_typing_never_raises_anything_but_its_own_error(text: str) -> None:
    with suppress(BadLength):
        assert parse_length(text) > 0


@given(st.text(alphabet="0123456789 ./,-'\"infmct½¼′″e", max_size=24))
def test_near_lengths_never_raise_anything_but_their_own_error(text: str) -> None:
    for read in (parse_length, parse_factor):
        with suppress(BadLength):
            assert read(text) > 0


@given(st.integers(0, 4_000), st.integers(0, 63))
def test_what_is_said_in_inches_reads_back_to_the_same_sixty_fourth(whole: int, rest: int) -> None:
    exact = Fraction(whole * 64 + rest, 64) * INCH
    text = f"{whole} {rest}/64 in" if rest else f"{whole} in"
    assert parse_length(text, zero_ok=True) == exact


@pytest.mark.parametrize(
    ("nm", "toward", "us"),
    [
        (6 * INCH, "down", "6 in"),
        (6 * INCH - 1, "down", "5 15/16 in"),
        (6 * INCH - 1, "nearest", "6 in"),
        (6 * INCH + 1, "up", "6 1/16 in"),
        (1, "up", "1/16 in"),
        (0, "down", "0 in"),
        (-INCH // 4, "down", "-1/4 in"),
        (-1, "down", "-1/16 in"),
        (457_200_000, "nearest", "18 in"),
    ],
)
def test_inches_are_shown_to_the_sixteenth_and_never_flatter(nm: int, toward: str, us: str) -> None:
    assert say_length(nm, "us", toward) == us  # type: ignore[arg-type]


def test_millimetres_are_shown_whole_and_never_flatter() -> None:
    assert say_length(150 * MM, "metric") == "150 mm"
    assert say_length(150 * MM - 1, "metric", "down") == "149 mm"
    assert say_length(150 * MM + 1, "metric", "up") == "151 mm"


@given(st.integers(0, 10**12), st.sampled_from(["us", "metric"]))
def test_down_is_never_more_and_up_never_less_than_the_length(nm: int, units: str) -> None:
    down = parse_length(say_length(nm, units, "down").replace(",", ""), zero_ok=True)  # type: ignore[arg-type]
    up = parse_length(say_length(nm, units, "up").replace(",", ""), zero_ok=True)  # type: ignore[arg-type]
    assert down <= nm <= up


def test_distances_are_said_as_a_site_says_them() -> None:
    assert say_distance(18 * FOOT, "us") == "18 ft"
    assert say_distance(40 * INCH, "us") == "3 ft 4 in"
    assert say_distance(3 * INCH, "us") == "3 in"
    assert say_distance(5_400 * MM, "metric") == "5.4 m"
    assert say_distance(6_000 * MM, "metric") == "6 m"
    assert say_distance(400 * MM, "metric") == "400 mm"


def test_sides_areas_and_perimeters_are_said_with_one_unit() -> None:
    assert say_sides(18 * INCH, 16 * INCH, "us") == "18 by 16 in"
    assert say_sides(460 * MM, 410 * MM, "metric") == "460 by 410 mm"
    assert say_area(301.0, "us") == "3,240 sq ft"
    assert say_area(301.0, "metric") == "301 m²"
    assert say_perimeter(242 * FOOT, "us") == "242 ft"
    assert say_perimeter(73_800 * MM, "metric") == "73.8 m"


def test_the_json_length_is_exact_in_metres() -> None:
    assert length_json(165_100_000, "us") == {"text": "6 1/2 in", "m": 0.1651}
    assert area_json(301.0, "us") == {"text": "3,240 sq ft", "m2": 301.0}


@given(st.integers(0, 10**14))
def test_metres_keep_every_nanometre(nm: int) -> None:
    assert round(float(length_json(nm, "metric")["m"]) * 10**9) == nm


def test_a_quarter_turn_is_exact() -> None:
    assert [turn(quarter * 90_000_000) for quarter in range(-1, 4)] == [
        (0, -1),
        (1, 0),
        (0, 1),
        (-1, 0),
        (0, -1),
    ]


@pytest.mark.parametrize(
    ("nm", "words"),
    [
        (30 * 25_400_000, "30 in"),
        (36 * 25_400_000, "3 ft"),
        (84 * 25_400_000, "7 ft"),
        (40 * 25_400_000 + 12_700_000, "3 ft 4 1/2 in"),
    ],
)
def test_a_long_run_is_told_in_feet_and_inches_as_a_tape_is_read(nm: int, words: str) -> None:
    assert measures.say_run(nm, "us") == words
    assert measures.say_run(nm, "metric") == measures.say_length(nm, "metric")


@example("10000m", "us", "nearest")
@example("10000.1069 m", "metric", "up")
@example("32808 5/8 ft", "us", "up")
@given(
    st.one_of(
        st.integers(0, 10_000_107_000).map(lambda n: f"{n // 10**6}.{n % 10**6:06} m"),
        st.integers(0, 32_808 * 64).map(lambda parts: f"{parts}/64 ft"),
        st.integers(0, 393_700 * 16).map(lambda parts: f"{parts}/16 in"),
    ),
    st.sampled_from(("us", "metric")),
    st.sampled_from(("down", "up", "nearest")),
)
def test_whatever_is_taken_is_shown_as_a_length_that_is_taken_and_shown_alike(
    typed: str, units: Units, toward: Toward
) -> None:
    """But for the commas between thousands, which nobody may type: elsewhere they are for decimals."""
    try:
        nm = parse_length(typed, zero_ok=True)
    except BadLength as bad:
        assert bad.code == "too-big"
        return
    shown = say_length(nm, units, toward)
    again = parse_length(shown.replace(",", ""), zero_ok=True)
    assert say_length(again, units, toward) == shown
    assert abs(again - nm) < (INCH / 16 if units == "us" else MM)


@pytest.mark.parametrize("typed", ["10000 m", "10000.1 m", "32808 ft"])
def test_ten_kilometres_and_what_they_are_shown_as_are_taken(typed: str) -> None:
    assert parse_length(typed) > 9_999 * 1000 * MM


@pytest.mark.parametrize("typed", ["10000.2 m", "32809 ft", "10001 m"])
def test_what_is_more_than_ten_kilometres_however_shown_is_not(typed: str) -> None:
    with pytest.raises(BadLength) as bad:
        parse_length(typed)
    assert bad.value.code == "too-big"
