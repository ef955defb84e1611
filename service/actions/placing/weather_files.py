"""Readings from a weather station's file, in two steps: what it says and what it leaves open, then taken.

Nothing is recorded while the file leaves a question open, and nothing of it is lost: what is left out is told
line by line first, and the file is kept as it came.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from service.actions.frame.desk import Desk
from service.actions.frame.doing import LONGEST_NAME, allow, record, standing_zone, words
from service.actions.placing.placing_day import PlacingDay, placing_day, weather_of, zone_with_placing
from service.domain.nouns.placing import Readings, WeatherReading
from service.domain.nouns.site import Site
from service.domain.weather.table import MOST_BYTES, Station, read_station, text_of
from service.domain.words.refusals import BadInput, NotFound, TooLarge
from service.domain.words.speech import later, tr, trn
from service.history.facts.placing import ReadingsTaken
from service.storage.history.seen import zone_seen_by

MOST_TAKEN = 2_000
PASTED = later("pasted")  # the source of lines that came in no file
Days = tuple[date, date]


@dataclass(frozen=True, slots=True)
class Understood:
    """What a file says. `fresh`: what would be taken, of the days asked for; `days`: how many fresh readings
    each day of the file holds; `known` were taken before just so, `differ` were taken with other values, and
    `early` lie in the future: those are left out."""

    station: Station
    fresh: tuple[WeatherReading, ...]
    days: tuple[tuple[date, int], ...]
    known: int
    differ: int
    early: int

    @property
    def too_many(self) -> bool:
        return len(self.fresh) > MOST_TAKEN


def keep_file(desk: Desk, by: str, zone_id: str, data: bytes) -> str:
    """Keep the file as it came; the SHA-256 it is asked for by. TooLarge past 2 MB."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
    allow(seen, "take readings")
    standing_zone(seen)
    if len(data) > MOST_BYTES:
        told = tr("A file of readings has at most 2 MB: take a shorter time. Nothing was read.")
        raise TooLarge(told, fields={"file": told})
    if not data.strip():
        told = tr("Choose the station's file, or paste its lines.")
        raise BadInput(told, fields={"file": told})
    return desk.blobs.put(data)


def kept_file(desk: Desk, sha256: str) -> bytes:
    """A file kept before, told by its SHA-256: nobody knows that who does not have the file."""
    try:
        small = 0 < desk.blobs.size(sha256) <= MOST_BYTES
    except ValueError:
        raise NotFound from None
    if not small:
        raise NotFound
    return desk.blobs.read(sha256)


def understand(
    desk: Desk,
    by: str,
    zone_id: str,
    sha256: str,
    answers: Mapping[str, str] | None = None,
    days: Days | None = None,
) -> tuple[PlacingDay, Understood]:
    """What the file says of this zone's day, with nothing recorded. `answers`: to its questions, by key."""
    day = placing_day(desk, by, zone_id)
    allow(day.view.seen, "take readings")
    zone = ZoneInfo(day.view.seen.project.time_zone)
    station = read_station(text_of(kept_file(desk, sha256)), zone, answers or {})
    return day, _sorted_out(station, day.weather(), desk.clock(), zone, days)


def _sorted_out(
    station: Station,
    taken: tuple[WeatherReading, ...],
    now: datetime,
    zone: ZoneInfo,
    days: Days | None,
) -> Understood:
    same, at = set(taken), {reading.at for reading in taken}
    past = [reading for reading in station.readings if reading.at <= now]
    known = [reading for reading in past if reading in same]
    differ = [reading for reading in past if reading.at in at and reading not in same]
    fresh = [reading for reading in past if reading.at not in at]
    counted = Counter(reading.at.astimezone(zone).date() for reading in fresh)
    if days is not None:
        fresh = [one for one in fresh if days[0] <= one.at.astimezone(zone).date() <= days[1]]
    return Understood(
        station,
        tuple(fresh),
        tuple(sorted(counted.items())),
        len(known),
        len(differ),
        len(station.readings) - len(past),
    )


def take_file(
    desk: Desk,
    by: str,
    zone_id: str,
    sha256: str,
    name: str,
    answers: Mapping[str, str] | None = None,
    days: Days | None = None,
    note: str = "",
) -> Readings:
    """Take the file's readings. BadInput while a question is open, where nothing is left to take, or where
    the days asked for hold more than can be taken at once."""
    name = words(name, "name", most=LONGEST_NAME) or PASTED
    note = words(note, "note")
    _, found = understand(desk, by, zone_id, sha256, answers, days)
    _check(found)
    with desk.writing() as session:
        seen, site = zone_with_placing(session, by, zone_id, "take readings")
        at = {reading.at for reading in _taken(site)}
        fresh = tuple(reading for reading in found.fresh if reading.at not in at)
        if not fresh:
            raise _nothing()
        fact = ReadingsTaken(desk.new_id(), zone_id, seen.zone.letter, name, fresh, note)
        record(desk, session, site, by, seen.role, fact)
    return site.readings[fact.readings]


def _taken(site: Site) -> tuple[WeatherReading, ...]:
    """What was taken meanwhile, under the head's lock."""
    return weather_of(tuple(site.readings.values()))


def _check(found: Understood) -> None:
    questions = found.station.questions
    if questions:
        fields = {question.key: question.text for question in questions}
        raise BadInput(" ".join(fields.values()), fields=fields, code="questions")
    if not found.fresh:
        raise _nothing()
    if found.too_many:
        told = trn(
            "At most {n} reading is taken at once. Choose the days that are wanted.",
            "At most {n} readings are taken at once. Choose the days that are wanted.",
            MOST_TAKEN,
        )
        raise BadInput(told, fields={"from": told}, code="too-many")


def _nothing() -> BadInput:
    told = tr("There is no reading in it that was not taken before. Nothing was recorded.")
    return BadInput(told, fields={"file": told}, code="nothing-to-take")


def read_days(first: str, last: str) -> Days | None:
    """The days wanted, as ISO dates; None for all of them. BadInput names the field at fault."""
    if not first.strip() and not last.strip():
        return None
    faults = {}
    found = []
    for field, text in (("from", first), ("to", last or first)):
        try:
            found.append(date.fromisoformat(text.strip()))
        except ValueError:
            faults[field] = tr("Write the day as 2026-11-26.")
    if not faults and found[1] < found[0]:
        faults["to"] = tr("The last day comes before the first.")
    if faults:
        raise BadInput(" ".join(dict.fromkeys(faults.values())), fields=faults)
    return found[0], found[1]
