"""Form bodies into typed values: what is wrong is told by field, and what was typed is given back."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from starlette.datastructures import FormData

from service.domain.words.refusals import BadInput, Conflict
from service.web.forms.forms import Form

CHICAGO = "America/Chicago"


def form(**fields: str) -> Form:
    return Form(FormData(list(fields.items())))


def test_everything_wrong_is_told_at_once_and_everything_typed_given_back() -> None:
    sent = form(name="", distance="six", side="up", note="kept")
    sent.text("name", needed="Give it a name.")
    sent.length("distance")
    sent.choice("side", ("left", "right"))
    assert set(sent.errors) == {"name", "distance", "side"}
    assert sent.values == {"name": "", "distance": "six", "side": "up", "note": "kept"}


def test_text_is_trimmed_and_its_lines_kept() -> None:
    assert form(note="  a\r\nb \n").text("note") == "a\nb"


def test_text_too_long_is_told_with_its_length() -> None:
    sent = form(note="x" * 11)
    sent.text("note", most=10)
    assert sent.errors["note"] == "Keep it to 10 characters; this has 11."


@pytest.mark.parametrize(
    ("typed", "unit", "nm"),
    [
        ("6", "in", 152_400_000),
        ("6 1/2", "in", 165_100_000),
        ("150", "mm", 150_000_000),
        ("150 mm", "in", 150_000_000),
        ("1'-3\"", "mm", 381_000_000),
    ],
)
def test_a_bare_number_takes_the_unit_beside_it_and_a_unit_typed_wins(typed: str, unit: str, nm: int) -> None:
    """1 in is 25.4 mm exactly (the international inch)."""
    sent = form(width=typed, width_unit=unit)
    assert (sent.length("width"), sent.errors) == (nm, {})


@pytest.mark.parametrize("typed", ["6", "six", "-3 in", "0", "0 in", "1e9 ft", "5'13\"", ""])
def test_what_is_no_length_is_told(typed: str) -> None:
    sent = form(width=typed)
    sent.length("width")
    assert "width" in sent.errors


def test_a_unit_that_nobody_offered_is_not_taken() -> None:
    sent = form(width="6", width_unit="furlong")
    sent.length("width")
    assert "width" in sent.errors


def test_a_length_may_be_left_out_where_the_page_says_so() -> None:
    sent = form(width="")
    assert (sent.length("width", needed=False), sent.errors) == (0, {})


def test_a_moment_is_read_in_the_projects_time_zone() -> None:
    """Chicago is six hours behind UTC in November and five in July (IANA time zone database)."""
    assert form(at="2026-11-26T06:30").moment("at", CHICAGO) == datetime(2026, 11, 26, 12, 30, tzinfo=UTC)
    assert form(at="2026-07-26 06:30").moment("at", CHICAGO) == datetime(2026, 7, 26, 11, 30, tzinfo=UTC)


def test_a_time_that_the_clocks_leave_out_is_told() -> None:
    """In Chicago the clocks go from 2:00 to 3:00 on 8 March 2026 (IANA time zone database)."""
    sent = form(at="2026-03-08T02:30")
    assert sent.moment("at", CHICAGO) is None
    assert "03:30" in sent.errors["at"]


@pytest.mark.parametrize(
    "typed", ["tomorrow", "2026-13-01T00:00", "2026-11-26T06:30+02:00", "0001-01-01T00:00"]
)
def test_what_is_no_moment_is_told(typed: str) -> None:
    sent = form(at=typed)
    assert sent.moment("at", CHICAGO) is None
    assert "at" in sent.errors


def test_a_moment_left_empty_is_none_and_no_error_unless_it_is_needed() -> None:
    sent = form(at="")
    assert (sent.moment("at", CHICAGO), sent.errors) == (None, {})
    sent.moment("at", CHICAGO, needed="Say when.")
    assert sent.errors == {"at": "Say when."}


def test_a_box_is_ticked_or_not() -> None:
    assert form(dry="yes").flag("dry")
    assert not form().flag("dry")


@pytest.mark.parametrize(
    ("typed", "fine"), [("3", True), ("0", False), ("10", False), ("x", False), ("", False)]
)
def test_a_whole_number_between_two_others(typed: str, fine: bool) -> None:
    sent = form(page=typed)
    sent.whole("page", least=1, most=9)
    assert (not sent.errors) is fine


def test_a_refusal_lands_beside_its_fields_or_over_the_whole_form() -> None:
    sent = form(letter="B")
    sent.refused(BadInput("No.", fields={"letter": "B is taken."}))
    sent.refused(Conflict("Not as things stand."))
    assert sent.errors == {"letter": "B is taken.", "": "Not as things stand."}


def test_the_request_key_is_no_part_of_what_makes_two_sendings_the_same() -> None:
    assert form(a="1", request_key="x").sent() == form(a="1", request_key="y").sent()
    assert form(a="1").sent() != form(a="2").sent()
    assert form(a="1\nb=1", c="").sent() != form(a="1", b="1", c="").sent()
