"""The parts of a strip of a zone's life: ticks by kind, the band's pieces with their words, places, hours.

Places run from 0 to 1000 across a strip, so that it may be drawn at any width.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from service.domain.words.names import zone_state
from service.domain.words.speech import later, tr, trc, trn
from service.history.replay.following import OFF
from service.history.replay.spans import (
    HOLD_POINTS,
    HOLDS,
    INSTALLED,
    KINDS,
    LOOKS,
    MARKS,
    MENDING,
    READINGS,
    RELEASE,
    TAKEN_BACK,
    WALKS,
    ZONE,
    Tick,
)
from service.web.serving.render import months, weekdays
from service.web.shared.crew_words import css

WIDE, TALL = 1000.0, 100.0
GRAIN = 2.0  # ticks nearer than this (half a millimetre on paper) are one tick
# How wide, in CSS pixels, a strip is on a phone and beside the list on a desk, less what stands left of it.
NARROW, ROOMY = 214, 440
SIGN = 8.4  # how wide a sign of the band's words is drawn, in CSS pixels
ENDS = {
    "zone-released": later("released"),
    "release-pulled-back": later("pulled back"),
    "placing-started": later("placing started"),
    "zone-placed": later("placed"),
}
FELL = later("fell away")


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


@dataclass(frozen=True, slots=True)
class Place:
    """Where a time lies across a strip: 0 to 1000. What comes as it ends is the next one's."""

    start: datetime
    end: datetime

    def holds(self, at: datetime) -> bool:
        return self.start <= at < self.end

    def at(self, at: datetime) -> float:
        part = (at - self.start) / (self.end - self.start)
        return round(min(max(part, 0.0), 1.0) * WIDE, 1)


def pieces_of(shapes: Sequence[Shape], place: Place) -> list[Piece]:
    """The band's pieces; what is too narrow to be drawn is left to the line at its start."""
    pieces = []
    for shape in shapes:
        x, end = place.at(shape.start), place.at(shape.end)
        if end - x < GRAIN:
            continue
        words = _fitting(f"{shape.number} {state_words(shape.state)}", str(shape.number), (end - x) / WIDE)
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


def lanes_of(ticks: Sequence[Tick], place: Place) -> tuple[Lane, ...]:
    """A lane for each kind of which anything was done, in the order of the work."""
    lanes = []
    for number, kind in enumerate(KINDS):
        own = [tick for tick in ticks if tick.kind == kind]
        if own:
            path = "".join(f"M{x:g} 14V86" for x in apart_enough(place.at(tick.entry.at) for tick in own))
            words = _ends(own) if kind == RELEASE else _lane_words(kind, len(own))
            lanes.append(Lane(words, f"k{number}", path))
    return tuple(lanes)


def _lane_words(kind: str, n: int) -> str:
    """How many of one kind were done."""
    told = {
        ZONE: tr("{n} on the zone itself", n=n),
        INSTALLED: trn("{n} installed", "{n} installed", n),
        MARKS: trn("{n} mark", "{n} marks", n),
        MENDING: trn("{n} patch or repair", "{n} patches or repairs", n),
        TAKEN_BACK: trn("{n} taken back", "{n} taken back", n),
        LOOKS: trn("{n} second look", "{n} second looks", n),
        WALKS: trn("{n} punch walk", "{n} punch walks", n),
        HOLD_POINTS: trn("{n} hold point", "{n} hold points", n),
        HOLDS: trn("{n} hold or lift", "{n} holds or lifts", n),
        READINGS: trn("{n} reading or plan of the placing", "{n} readings or plans of the placing", n),
    }
    return told[kind]


def state_words(state: str) -> str:
    """How the zone stood, or that it was off the sketch."""
    return trc("zone", "taken off") if state == OFF else zone_state(state)


def _ends(ticks: Sequence[Tick]) -> str:
    """`released, fell away`: what became of the release, each once with how often."""
    told = Counter(FELL if tick.fell else ENDS[tick.entry.type] for tick in ticks)
    return ", ".join(
        tr(words) if count == 1 else tr("{what} {n} times", what=tr(words), n=count)
        for words, count in told.items()
    )


def apart_enough(places: Iterable[float]) -> list[float]:
    """Places in order, one for all that lie closer together than a tick can be told."""
    found: list[float] = []
    for x in places:
        if not found or x - found[-1] >= GRAIN:
            found.append(x)
    return found


def label_of(title: str, shapes: Sequence[Shape], lanes: Sequence[Lane], marks: str) -> str:
    states = list(dict.fromkeys(f"{shape.number} {state_words(shape.state)}" for shape in shapes))
    if len(states) > 6:
        states = [*states[:3], tr("{n} more states", n=len(states) - 5), *states[-2:]]
    told = {"title": title, "states": ", ".join(states), "marks": marks}
    if not lanes:
        return tr("{title}. States: {states}. Marks open or not sealed: {marks}.", **told)
    done = ", ".join(lane.words for lane in lanes)
    return tr(
        "{title}. States: {states}. Done: {done}. Marks open or not sealed: {marks}.", **told, done=done
    )


def least_to_most(values: Sequence[int]) -> str:
    """`none`, `2`, or `0 to 7, 1 at the end`."""
    if not values or not any(values):
        return trc("marks", "none")
    low, high = min(values), max(values)
    return (
        str(high)
        if low == high
        else tr("{low} to {high}, {last} at the end", low=low, high=high, last=values[-1])
    )


def hour_mark(x: float, words: str) -> HourMark:
    return HourMark(x / 10, words, "start" if x < 40 else "end" if x > 960 else "middle")


def hour_words(hour: int) -> str:
    """`6 am`, `noon`, `midnight`."""
    if hour % 12 == 0:
        return tr("noon") if hour == 12 else tr("midnight")
    return tr("{time} am", time=hour % 12) if hour < 12 else tr("{time} pm", time=hour % 12)


def long_day(day: date) -> str:
    month = months()[day.month - 1]
    weekday = weekdays()[day.weekday()]
    return tr("{weekday} {day} {month} {year}", weekday=weekday, day=day.day, month=month, year=day.year)


def short_day(day: date) -> str:
    return tr(
        "{weekday} {day} {month}",
        weekday=weekdays()[day.weekday()],
        day=day.day,
        month=months()[day.month - 1],
    )
