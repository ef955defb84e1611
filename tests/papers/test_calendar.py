"""Placings as iCalendar, read back by RFC 5545 alone and by the library: nothing typed can break a line."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.papers.calendar import Pour, calendar_file
from tests.papers.ical_oracle import Component, read

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
POUR = Pour(
    uid="zone-b@laptight",
    starts=NOON.replace(day=27),
    summary="Place zone B",
    description="Not ready.",
    href="https://slab.example/projects/p/plan-of-pours",
    firm=False,
    sequence=12,
    changed_at=NOON,
)
NAMES = (
    "Dock; bay, north\\south",
    "two\nlines",
    "Losa ñandú, éxito ¿sí?",
    "🏗️ tower 🧱" * 9,
    "END:VEVENT\r\nBEGIN:VALARM\r\nTRIGGER:-PT5M",
    "x" * 400,
    "ñ" * 120,
    "",
)


def event(pour: Pour) -> Component:
    calendar = read(calendar_file("Placings", [pour]))
    [found] = calendar.inside
    assert found.name == "VEVENT" and not found.inside, "no alarm, and nothing else inside"
    return found


def test_a_placing_is_told_with_all_that_a_calendar_program_goes_by() -> None:
    """RFC 5545 3.6.1 asks for UID and DTSTAMP; 3.8.7.4 for SEQUENCE; 3.8.1.11 for these words of STATUS."""
    found = event(POUR)
    assert found.fields == {
        "UID": "zone-b@laptight",
        "DTSTAMP": "20261125T120000Z",
        "LAST-MODIFIED": "20261125T120000Z",
        "SEQUENCE": "12",
        "DTSTART": "20261127T120000Z",
        "SUMMARY": "Place zone B",
        "DESCRIPTION": "Not ready.",
        "URL": "https://slab.example/projects/p/plan-of-pours",
        "STATUS": "TENTATIVE",
    }
    assert event(replace(POUR, firm=True)).fields["STATUS"] == "CONFIRMED"


def test_the_calendar_names_itself_its_maker_and_how_often_to_ask() -> None:
    """RFC 5545 3.7.3 and 3.7.4; RFC 7986 5.1 and 5.7."""
    calendar = read(calendar_file("Placings: A, b; c", []))
    assert calendar.fields["VERSION"] == "2.0" and calendar.fields["PRODID"].startswith("-//Laptight//")
    assert calendar.text("NAME") == calendar.text("X-WR-CALNAME") == "Placings: A, b; c"
    assert calendar.fields["REFRESH-INTERVAL"] == "PT1H"
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in calendar_file("x", [])


@pytest.mark.parametrize("name", NAMES, ids=repr)
def test_whatever_a_zone_is_called_is_read_back_as_it_was_typed(name: str) -> None:
    pour = replace(POUR, summary=f"Place {name}: not ready")
    as_typed = pour.summary.replace("\r\n", "\n")
    assert event(pour).text("SUMMARY") == as_typed
    theirs = icalendar.Calendar.from_ical(calendar_file("Placings", [pour]))
    [told] = theirs.walk("VEVENT")
    assert str(told["SUMMARY"]) == as_typed and told.decoded("DTSTART") == pour.starts


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=120))
def test_no_text_makes_a_line_of_its_own_or_one_too_long(name: str) -> None:
    assert event(replace(POUR, summary=name)).text("SUMMARY") == name


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_control_characters_leave_one_whole_placing_behind(name: str) -> None:
    assert set(event(replace(POUR, summary=name)).fields) == set(event(POUR).fields)


def test_the_reader_finds_what_is_wrong_with_a_file() -> None:
    """The check has teeth: a bare line end, a line of 76 octets, a character cut in two, a name twice."""
    whole = calendar_file("Placings", [POUR])
    read(whole)
    for wrong in (
        whole.replace(b"\r\n", b"\n"),
        whole.replace(b"SUMMARY:", b"SUMMARY:" + b"x" * 60),
        whole.replace(b"SUMMARY:", b"SUMMARY:\xc3\r\n \xb1"),
        whole.replace(b"SUMMARY:", b"UID:again\r\nSUMMARY:"),
        whole.replace(b"END:VEVENT\r\n", b""),
    ):
        with pytest.raises(ValueError):
            read(wrong)
    with pytest.raises(ValueError, match="not escaped"):
        Component("VEVENT", {"SUMMARY": "Dock, north"}).text("SUMMARY")
