"""How fast the crew closes what is left, by what it closed on its last working days; and by when it is done.

Nothing is judged by a pace: it tells a person what to expect, and says how far off it may be. Dates are those
of the site; what day it is comes in as an argument. Every count is exact.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

SHEETS, MARKS, SEAMS, PENETRATIONS, EDGES = "sheets", "marks", "seams", "penetrations", "edges"
KINDS = (SHEETS, MARKS, SEAMS, PENETRATIONS, EDGES)
# How many working days are looked back over, and on how many of them something of a kind must have been
# closed before its pace is told: both ours, from no source.
LOOKED_BACK, LEAST_DAYS = 10, 3
MOST_DAYS = 2_600  # working days; ten years, later than anybody plans
WEEKDAYS = frozenset(range(5))  # Monday to Friday


@dataclass(frozen=True, slots=True)
class Closed:
    """One thing of a kind, closed on a day."""

    kind: str
    day: date


@dataclass(frozen=True, slots=True)
class Pace:
    """Things of one kind closed a working day: on the slower third of the days looked at, on all, and on the
    faster third."""

    kind: str
    days: int
    closed: int
    slow: Fraction
    usual: Fraction
    fast: Fraction


@dataclass(frozen=True, slots=True)
class Paces:
    """A pace for each kind that has one. `week`: the days of the week that are worked, Monday 0."""

    today: date
    week: frozenset[int]
    of: Mapping[str, Pace]


@dataclass(frozen=True, slots=True)
class Span:
    """By when what is left is closed: at the fast, the usual and the slow pace. `latest` None: on the slower
    days nothing was closed, so no latest day can be told."""

    soonest: date
    about: date
    latest: date | None


def paces(closed: Iterable[Closed], today: date) -> Paces:
    """The pace of each kind up to yesterday: today is not over.

    A working day is Monday to Friday, and a Saturday or Sunday on which something was closed. A kind is
    looked at from the first day on which anything of it was closed, so that the days before it began do not
    slow it.
    """
    counts: dict[str, Counter[date]] = {kind: Counter() for kind in KINDS}
    for one in closed:
        counts[one.kind][one.day] += 1
    worked = {day for of_kind in counts.values() for day in of_kind}
    days = _looked_at(worked, today)
    found = {kind: pace for kind in KINDS if (pace := _pace(kind, counts[kind], days)) is not None}
    return Paces(today, WEEKDAYS | {day.weekday() for day in days}, found)


def _looked_at(worked: set[date], today: date) -> list[date]:
    """The last working days before today, the newest first."""
    days: list[date] = []
    day, first = today, min(worked, default=today)
    while len(days) < LOOKED_BACK and day > first:
        day -= timedelta(days=1)
        if day.weekday() in WEEKDAYS or day in worked:
            days.append(day)
    return days


def _pace(kind: str, counts: Mapping[date, int], days: Sequence[date]) -> Pace | None:
    """None where something of the kind was closed on too few of these days."""
    first = min(counts, default=None)
    by_day = sorted(counts.get(day, 0) for day in days if first is not None and day >= first)
    if sum(count > 0 for count in by_day) < LEAST_DAYS:
        return None
    third = max(1, len(by_day) // 3)
    return Pace(
        kind,
        days=len(by_day),
        closed=sum(by_day),
        slow=Fraction(sum(by_day[:third]), third),
        usual=Fraction(sum(by_day), len(by_day)),
        fast=Fraction(sum(by_day[-third:]), third),
    )


def span(left: int, pace: Pace, of: Paces) -> Span:
    """By when `left` things of the pace's kind are closed, beginning today. ValueError for nothing left."""
    if left < 1:
        raise ValueError("nothing is left: there is no day to tell")
    soonest, about = _day(left, pace.fast, of), _day(left, pace.usual, of)
    return Span(soonest, about, _day(left, pace.slow, of) if pace.slow else None)


def _day(left: int, a_day: Fraction, of: Paces) -> date:
    """The working day on which the last of them is closed; today is the first, where it is one."""
    needed = min(-(-left // a_day), MOST_DAYS)
    weeks, rest = divmod(needed - 1, len(of.week))
    day = _working(of.today, of.week) + timedelta(weeks=weeks)
    for _ in range(rest):
        day = _working(day + timedelta(days=1), of.week)
    return day


def _working(day: date, week: frozenset[int]) -> date:
    """This day, or the first working day after it."""
    while day.weekday() not in week:
        day += timedelta(days=1)
    return day


def latest_of(spans: Sequence[Span]) -> Span:
    """By when all of several kinds are closed, each at its own pace beside the others."""
    ends = [one.latest for one in spans if one.latest is not None]
    return Span(
        max(one.soonest for one in spans),
        max(one.about for one in spans),
        max(ends) if len(ends) == len(spans) else None,
    )
