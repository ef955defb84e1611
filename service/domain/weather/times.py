"""The times of a weather station's rows: the order of day and month is asked, clock changes are told."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta, timezone, tzinfo

from service.domain.weather.columns import Question
from service.domain.words.speech import tr

_YEARS = range(1900, 2200)  # no station's clock is farther off
MONTH_FIRST, DAY_FIRST = "month first", "day first"
ORDER = "date-order"
_DAY = (
    r"(?:(?P<y>[0-9]{4})[-/.](?P<m>[0-9]{1,2})[-/.](?P<d>[0-9]{1,2})"
    r"|(?P<one>[0-9]{1,2})[-/.](?P<two>[0-9]{1,2})[-/.](?P<year>[0-9]{4}|[0-9]{2}))"
)
_CLOCK = (
    r"(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2})(?::(?P<second>[0-9]{2})(?:[.,][0-9]{1,6})?)?"
    r"\s*(?P<half>[ap]\.?\s?m\.?)?\s*(?P<zone>z|utc|gmt|[+-][0-9]{2}:?[0-9]{2})?"
)
_WHEN = re.compile(rf"{_DAY}(?:\s+|t|,\s*){_CLOCK}")


class BadTime(ValueError):
    """A time that cannot be read; the sentence is for people."""


def parts_of(text: str) -> re.Match[str]:
    """The parts of a time; BadTime where it is none."""
    found = _WHEN.fullmatch(text.strip().lower())
    if found is None:
        raise BadTime(tr("no date with a time of day, like 2026-07-03 14:00"))
    return found


def order_of(texts: Iterable[str], heading: str, answers: Mapping[str, str], asked: list[Question]) -> str:
    """Which of month and day comes first: told by the heading, by a number past 12, or asked (empty)."""
    if answers.get(ORDER) in (MONTH_FIRST, DAY_FIRST):
        return answers[ORDER]
    if told := re.search(r"mm?[-/.]dd?[-/.]y|dd?[-/.]mm?[-/.][ya]", heading.lower()):
        return MONTH_FIRST if told[0].startswith("m") else DAY_FIRST
    firsts, seconds = False, False
    written = False
    for text in texts:
        found = _WHEN.fullmatch(text.strip().lower())
        if found and found["one"]:
            written = True
            firsts, seconds = firsts or int(found["one"]) > 12, seconds or int(found["two"]) > 12
    if written and firsts == seconds:
        choices = (
            (MONTH_FIRST, tr("month first: 7/3 is July 3")),
            (DAY_FIRST, tr("day first: 3/7 is July 3")),
        )
        asked.append(Question(ORDER, tr("Which comes first in its dates, the month or the day?"), choices))
        return ""
    return DAY_FIRST if firsts else MONTH_FIRST


def naive_time(text: str, order: str) -> datetime:
    """The time as written; aware only where it names its own zone. BadTime where there is no such time."""
    found = parts_of(text)
    if found["y"]:
        year, month, day = int(found["y"]), int(found["m"]), int(found["d"])
    else:
        one, two, year = int(found["one"]), int(found["two"]), int(found["year"])
        month, day = (one, two) if order == MONTH_FIRST else (two, one)
        year += 2000 if year < 100 else 0
    if year not in _YEARS:
        raise BadTime(tr("there is no such day or time"))
    hour, minute, second = _hour(found), int(found["minute"]), int(found["second"] or 0)
    try:
        midnight = datetime(year, month, day, tzinfo=_zone(found["zone"]))
        if hour == 24 and not minute and not second:  # the end of a day, as tables of hours print it
            return midnight + timedelta(days=1)
        return midnight.replace(hour=hour, minute=minute, second=second)
    except ValueError as bad:
        raise BadTime(tr("there is no such day or time")) from bad


def _hour(found: re.Match[str]) -> int:
    hour = int(found["hour"])
    if not found["half"]:
        return hour
    if not 1 <= hour <= 12:
        raise BadTime(tr("there is no such day or time"))
    return hour % 12 + (12 if found["half"].startswith("p") else 0)


def _zone(text: str | None) -> tzinfo | None:
    if not text:
        return None
    if text in ("z", "utc", "gmt"):
        return UTC
    minutes = int(text[1:3]) * 60 + int(text[-2:])
    return timezone(timedelta(minutes=-minutes if text[0] == "-" else minutes))


def to_utc(written: datetime, zone: tzinfo) -> tuple[datetime, str]:
    """The moment in UTC, and what the clocks did to it: `skipped`, `twice`, or nothing to tell.

    A time the clocks skipped or show twice is read by the offset before the change (fold 0).
    """
    if written.tzinfo is not None:
        return written.astimezone(UTC), ""
    local = written.replace(tzinfo=zone)
    at = local.astimezone(UTC)
    if local.utcoffset() == local.replace(fold=1).utcoffset():
        return at, ""
    return at, "twice" if at.astimezone(zone).replace(tzinfo=None) == written else "skipped"
