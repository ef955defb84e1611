"""Placings as an iCalendar file (RFC 5545, with RFC 7986 for its name and how often to ask), in English."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from icalendar import Calendar, Event, vText

MADE_BY = "-//Laptight//Plan of pours//EN"
ASK_EVERY = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Pour:
    """One placing. `uid` stays; `starts` and `changed_at` are UTC; `sequence` never falls.
    `firm`: the zone is ready to place, or placed; else the time is tentative."""

    uid: str
    starts: datetime
    summary: str
    description: str
    href: str
    firm: bool
    sequence: int
    changed_at: datetime


def calendar_file(name: str, pours: Iterable[Pour]) -> bytes:
    """The same pours give the same bytes: every time in it comes from the history. No alarm is set."""
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", MADE_BY)
    calendar.add("method", "PUBLISH")
    for named in ("name", "x-wr-calname"):  # the second is what programs older than RFC 7986 read
        calendar.add(named, vText(name))
    calendar.add("refresh-interval", ASK_EVERY, parameters={"VALUE": "DURATION"})
    for pour in pours:
        calendar.add_component(_event(pour))
    written: bytes = calendar.to_ical()
    return written


def _event(pour: Pour) -> Event:
    event = Event()
    event.add("uid", pour.uid)
    event.add("dtstamp", pour.changed_at)
    event.add("last-modified", pour.changed_at)
    event.add("sequence", pour.sequence)
    event.add("dtstart", pour.starts)
    event.add("summary", pour.summary)
    event.add("description", pour.description)
    event.add("url", pour.href)
    event.add("status", "CONFIRMED" if pour.firm else "TENTATIVE")
    return event
