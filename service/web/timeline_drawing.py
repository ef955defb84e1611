"""A zone's life drawn as strips, one a day: ticks by kind, the band of its states, its open marks in steps.

A strip is as wide as the hours in which anything was recorded, the same hours for every day shown, and true
to time from end to end. Nights and days with nothing recorded are left out between strips, and said to be.
Places run from 0 to 1000 across a strip, so that it may be drawn at any width.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from service.history.following import OFF
from service.history.spans import (
    HOLD_POINTS,
    HOLDS,
    INSTALLED,
    KINDS,
    LOOKS,
    MARKS,
    MENDING,
    RELEASE,
    TAKEN_BACK,
    WALKS,
    ZONE,
    Life,
    Tick,
)
from service.web.crew_words import css
from service.web.render import many

WIDE, TALL = 1000.0, 100.0
GRAIN = 2.0  # ticks nearer than this (half a millimetre on paper) are one tick
# How wide, in CSS pixels, a strip is on a phone and beside the list on a desk, less what stands left of it.
NARROW, ROOMY = 214, 440
SIGN = 8.4  # how wide a sign of the band's words is drawn, in CSS pixels
LANES = {
    ZONE: ("on the zone itself", "on the zone itself"),
    INSTALLED: ("installed", "installed"),
    MARKS: ("mark", "marks"),
    MENDING: ("patch or repair", "patches or repairs"),
    TAKEN_BACK: ("taken back", "taken back"),
    LOOKS: ("second look", "second looks"),
    WALKS: ("punch walk", "punch walks"),
    HOLD_POINTS: ("hold point", "hold points"),
    HOLDS: ("hold or lift", "holds or lifts"),
}
ENDS = {"zone-released": "released", "release-pulled-back": "pulled back", "zone-placed": "placed"}
FELL = "fell away"


@dataclass(frozen=True, slots=True)
class HourMark:
    """A line across the strip, in thousandths of it, and the words over it; "" for a line alone."""

    x: float
    words: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Lane:
    """One kind of thing done, its words with how many, and a path of ticks 1000 wide and 100 tall."""

    words: str
    kind: str
    path: str


@dataclass(frozen=True, slots=True)
class Words:
    """What stands in a piece of the band, and where: "" always, "roomy" on a wide page, "slim" on others."""

    text: str
    fits: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A state's part of the band, in percent of the strip."""

    kind: str
    x: float
    width: float
    middle: float
    words: tuple[Words, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """One stretch of time. `name` keeps ids apart; label: what a person who does not see it is told."""

    name: str
    title: str
    label: str
    hours: tuple[HourMark, ...]
    rules: str
    lanes: tuple[Lane, ...]
    band: tuple[Piece, ...]
    starts: str
    steps: str
    marks: str


@dataclass(frozen=True, slots=True)
class Gap:
    """Time left out, in words."""

    words: str


@dataclass(frozen=True, slots=True)
class Shape:
    """A span with its number in the life, as the drawing takes it."""

    number: int
    state: str
    start: datetime
    end: datetime


class LifeDrawing:
    """Draws one life in one time zone. Days are the project's own."""

    def __init__(self, life: Life, as_of: datetime, time_zone: str) -> None:
        self._life, self._zone = life, ZoneInfo(time_zone)
        self.shapes = [
            Shape(number, span.state, span.began.at, span.ended.at if span.ended else as_of)
            for number, span in enumerate(life.spans, 1)
        ]
        self._most = max(count.open + count.not_sealed for count in life.counts)
        moments = [tick.entry.at for tick in life.ticks] + [shape.start for shape in self.shapes]
        moments += [count.entry.at for count in life.counts]
        self._moments = sorted(moments)
        self.days = sorted({self._local(at).date() for at in moments})

    def _local(self, at: datetime) -> datetime:
        return at.astimezone(self._zone)

    def _instant(self, day: date, hour: int) -> datetime:
        """A full hour of the site; 24 is the next midnight."""
        after = day + timedelta(days=1)
        local = datetime.combine(after if hour == 24 else day, time(hour % 24), self._zone)
        return local.astimezone(UTC)

    def whole(self) -> Strip:
        """The whole life in one strip, true to time, nights and all."""
        start, end = self.shapes[0].start, max(self.shapes[-1].end, self._moments[-1])
        end = max(end, start + timedelta(minutes=1))
        first, last = self._local(start).date(), self._local(end).date()
        days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        every = max(1, -(-len(days) // 3))
        hours = [
            (self._instant(day, 0), _short_day(day) if n % every == 0 else "")
            for n, day in enumerate(days)
            if n  # the first midnight lies before the zone
        ]
        title = "From beginning to end"
        return self._strip("whole", title, start, end, [] if len(days) > 400 else hours, lanes=False)

    def strips(self, days: Sequence[date]) -> list[Strip | Gap]:
        """A strip for each of these days, in order, with what is left out between them."""
        shown = set(days)
        local = [at for at in map(self._local, self._moments) if at.date() in shown]
        low = min(at.hour for at in local)
        high = max(at.hour + 1 for at in local)
        rows: list[Strip | Gap] = []
        for before, day in pairwise((None, *days)):
            assert day is not None, "the days follow a first None"
            if before and (gap := self._gap(before, day)):
                rows.append(gap)
            rows.append(self._day(day, low, high))
        return rows

    def _gap(self, before: date, after: date) -> Gap | None:
        """Whole days left out between two that are shown."""
        left = (after - before).days - 1
        if left < 1:
            return None
        first, last = before + timedelta(days=1), after - timedelta(days=1)
        when = _short_day(first) if left == 1 else f"{_short_day(first)} to {_short_day(last)}"
        state = self._state_at(self._instant(first, 0))
        return Gap(f"{when} left out: nothing recorded, {state} throughout.")

    def _state_at(self, at: datetime) -> str:
        return next((s.state for s in reversed(self.shapes) if s.start <= at), self.shapes[0].state)

    def _day(self, day: date, low: int, high: int) -> Strip:
        start, end = self._instant(day, low), self._instant(day, high)
        every = max(1, -(-(high - low) // 4))
        marks = [
            (self._instant(day, hour), _hour(hour) if (hour - low) % every == 0 else "")
            for hour in range(low, high + 1)
        ]
        return self._strip(f"d{day:%Y%m%d}", f"{day:%a} {day.day} {day:%b %Y}", start, end, marks, lanes=True)

    def _strip(
        self, name: str, title: str, start: datetime, end: datetime,
        hours: Sequence[tuple[datetime, str]], *, lanes: bool,
    ) -> Strip:  # fmt: skip
        place = _Place(start, end)
        within = [s for s in self.shapes if s.start <= end and (s.end > start or s.start >= start)]
        ticks = [tick for tick in self._life.ticks if start <= tick.entry.at <= end]
        drawn = _lanes(ticks, place) if lanes else ()
        steps, least_to_most = self._steps(place)
        return Strip(
            name=name,
            title=title,
            label=_label(title, within, drawn, least_to_most),
            hours=tuple(_hour_mark(place.at(at), words) for at, words in hours),
            rules="".join(f"M{place.at(at):g} 0V100" for at, _ in hours),
            lanes=drawn,
            band=tuple(_pieces(within, place)),
            starts="".join(
                f"M{x:g} 0V100" for x in _apart(place.at(s.start) for s in within if s.start >= start)
            ),
            steps=steps,
            marks=least_to_most,
        )

    def _steps(self, place: _Place) -> tuple[str, str]:
        """The stepped line of marks open or not sealed, to the strip's end or to now, and what it says."""
        counts = [(count.entry.at, count.open + count.not_sealed) for count in self._life.counts]
        before = [value for at, value in counts if at < place.start][-1:]
        here = [(place.at(at), value) for at, value in counts if place.start <= at <= place.end]
        places: dict[float, list[int]] = {0.0: before} if before else {}
        for x, value in here:
            places.setdefault(x, []).append(value)
        path = ""
        for x, values in places.items():
            first, *more = dict.fromkeys((values[0], min(values), max(values), values[-1]))
            path += f"H{x:g}V{self._height(first)}" if path else f"M{x:g} {self._height(first)}"
            path += "".join(f"V{self._height(value)}" for value in more)
            path += "" if values[-1] in (more or [first])[-1:] else f"V{self._height(values[-1])}"
        end = place.at(min(place.end, max(self.shapes[-1].end, place.start)))
        return path and f"{path}H{end:g}", _span_of([*before, *(value for _, value in here)])

    def _height(self, value: int) -> str:
        return f"{round(TALL - 8 - (TALL - 16) * value / max(self._most, 1), 1):g}"


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a time lies across a strip: 0 to 1000."""

    start: datetime
    end: datetime

    def at(self, at: datetime) -> float:
        part = (at - self.start) / (self.end - self.start)
        return round(min(max(part, 0.0), 1.0) * WIDE, 1)


def _pieces(shapes: Sequence[Shape], place: _Place) -> list[Piece]:
    """The band's pieces; what is too narrow to be drawn is left to the line at its start."""
    pieces = []
    for shape in shapes:
        x, end = place.at(shape.start), place.at(shape.end)
        if end - x < GRAIN:
            continue
        words = _fitting(f"{shape.number} {shape.state}", str(shape.number), (end - x) / WIDE)
        kind = "off" if shape.state == OFF else css(shape.state)
        pieces.append(Piece(kind, x / 10, round((end - x) / 10, 2), round((x + end) / 20, 2), words))
    return pieces


def _fitting(words: str, number: str, part: float) -> tuple[Words, ...]:
    """What there is room for in this part of a strip: number and state, or the number alone."""

    def holds(text: str, width: int) -> bool:
        return (len(text) + 1) * SIGN <= part * width

    if holds(words, NARROW):
        return (Words(words, ""),)
    slim = (Words(number, "slim"),) if holds(number, NARROW) else ()
    if holds(words, ROOMY):
        return (*slim, Words(words, "roomy"))
    return (Words(number, "" if slim else "roomy"),) if holds(number, ROOMY) else ()


def _lanes(ticks: Sequence[Tick], place: _Place) -> tuple[Lane, ...]:
    """A lane for each kind of which anything was done, in the order of the work."""
    lanes = []
    for number, kind in enumerate(KINDS):
        own = [tick for tick in ticks if tick.kind == kind]
        if own:
            path = "".join(f"M{x:g} 14V86" for x in _apart(place.at(tick.entry.at) for tick in own))
            words = _ends(own) if kind == RELEASE else many(len(own), *LANES[kind])
            lanes.append(Lane(words, f"k{number}", path))
    return tuple(lanes)


def _ends(ticks: Sequence[Tick]) -> str:
    """`released, fell away`: what became of the release, each once with how often."""
    told = Counter(FELL if tick.fell else ENDS[tick.entry.type] for tick in ticks)
    return ", ".join(words if count == 1 else f"{words} {count} times" for words, count in told.items())


def _apart(places: Iterable[float]) -> list[float]:
    """Places in order, one for all that lie closer together than a tick can be told."""
    found: list[float] = []
    for x in places:
        if not found or x - found[-1] >= GRAIN:
            found.append(x)
    return found


def _label(title: str, shapes: Sequence[Shape], lanes: Sequence[Lane], marks: str) -> str:
    states = list(dict.fromkeys(f"{shape.number} {shape.state}" for shape in shapes))
    if len(states) > 6:
        states = [*states[:3], f"{len(states) - 5} more states", *states[-2:]]
    done = f"Done: {', '.join(lane.words for lane in lanes)}. " if lanes else ""
    return f"{title}. States: {', '.join(states)}. {done}Marks open or not sealed: {marks}."


def _span_of(values: Sequence[int]) -> str:
    """`none`, `2`, or `0 to 7, 1 at the end`."""
    if not values or not any(values):
        return "none"
    low, high = min(values), max(values)
    return str(high) if low == high else f"{low} to {high}, {values[-1]} at the end"


def _hour_mark(x: float, words: str) -> HourMark:
    return HourMark(x / 10, words, "start" if x < 40 else "end" if x > 960 else "middle")


def _hour(hour: int) -> str:
    """`6 am`, `noon`, `midnight`."""
    if hour % 12 == 0:
        return "noon" if hour == 12 else "midnight"
    return f"{hour % 12} {'am' if hour < 12 else 'pm'}"


def _short_day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
