"""A seam to draw and a walk along one as somebody gives them, read from the contract's forms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.actions.frame.asked import Asked
from service.actions.frame.doing import LONGEST_NOTE
from service.domain.installed.seams import FAULTS, FISHMOUTH, MOST_STATIONS
from service.domain.nouns.installed import SEAM_KINDS, SIDE_LAP, Work
from service.domain.words.speech import later, tr, trn

LEFT, RIGHT = "left", "right"
MOST_COPIES, MOST_RUNS, MOST_LOT = 60, 60, 80
TAPED, BONDED = later("Is it taped from end to end?"), later("Is the tape bonded from end to end?")
CLEANED, DRY = later("Was the film cleaned?"), later("Was it dry?")


@dataclass(frozen=True, slots=True)
class Copies:
    """More seams beside the drawn one: how many, how far apart, and on which side going from its start."""

    count: int
    spacing_nm: int
    side: str


@dataclass(frozen=True, slots=True)
class SeamEntry:
    """A seam to draw: `path` in pixels of today's picture."""

    kind: str
    path: tuple[Sequence[float], ...]
    copies: Copies | None
    note: str


@dataclass(frozen=True, slots=True)
class Reading:
    """A lap measured so far from the seam's start, both in nanometres."""

    along_nm: int
    lap_nm: int


@dataclass(frozen=True, slots=True)
class Run:
    """A run at fault, from so far to so far from the seam's start."""

    fault: str
    from_nm: int
    to_nm: int
    opening_nm: int


@dataclass(frozen=True, slots=True)
class WalkEntry:
    """A walk as given. `taped` and `bonded` speak of all of the seam but the runs."""

    readings: tuple[Reading, ...]
    runs: tuple[Run, ...]
    taped: bool
    bonded: bool
    work: Work


def read_seam(given: Mapping[str, Any]) -> SeamEntry:
    """BadInput names every field at fault at once."""
    asked = Asked(given)
    kind = given.get("kind", SIDE_LAP)
    if kind not in SEAM_KINDS:
        asked.wrong(
            "kind", tr("The kind is one of: {kinds}.", kinds=", ".join(tr(each) for each in SEAM_KINDS))
        )
    path = given.get("path")
    if not isinstance(path, list | tuple) or len(path) < 2:
        asked.wrong("path", tr("A seam has at least a start and an end."))
        path = ()
    copies = _copies(asked, given.get("copies"))
    note = asked.text("note", LONGEST_NOTE)
    asked.done()
    return SeamEntry(kind, tuple(path), copies, note)


def _copies(asked: Asked, given: object) -> Copies | None:
    if given is None:
        return None
    if not isinstance(given, Mapping):
        asked.wrong("copies", tr("Copies are a count, a spacing and a side."))
        return None
    inner = Asked(given)
    count = given.get("count")
    if not isinstance(count, int) or isinstance(count, bool) or not 1 <= count <= MOST_COPIES:
        inner.wrong("count", tr("Draw 1 to {most} more at once.", most=MOST_COPIES))
    spacing = inner.length("spacing", tr("How far apart? The roll's width less the lap."))
    side = given.get("side", RIGHT)
    if side not in (LEFT, RIGHT):
        inner.wrong("side", tr("They lie to the left or to the right, going from the seam's start."))
    asked.faults |= {f"copies.{name}": told for name, told in inner.faults.items()}
    return Copies(count, spacing, side) if not inner.faults and isinstance(count, int) else None


def read_walk(given: Mapping[str, Any]) -> WalkEntry:
    """BadInput names every field at fault at once, `stations.2.lap` the third reading's lap."""
    asked = Asked(given)
    readings = tuple(_reading(asked, *row) for row in _rows(asked, "stations", MOST_STATIONS))
    if not readings and not asked.faults:
        asked.wrong("stations", tr("Measure the lap in one place at least."))
    runs = tuple(_run(asked, *row) for row in _rows(asked, "runs", MOST_RUNS))
    taped, bonded = asked.yes_or_no("taped", tr(TAPED)), asked.yes_or_no("bonded", tr(BONDED))
    cleaned, dry = asked.yes_or_no("cleaned", tr(CLEANED)), asked.yes_or_no("dry", tr(DRY))
    tape = asked.length("tape_width", tr("How wide is the tape?")) if taped else 0
    work = Work(
        cleaned,
        dry,
        tape,
        asked.temperature("film_temperature"),
        asked.text("lot", MOST_LOT),
        asked.text("note", LONGEST_NOTE),
    )
    asked.done()
    return WalkEntry(readings, runs, taped, bonded, work)


def _rows(asked: Asked, name: str, most: int) -> list[tuple[str, Asked]]:
    """The rows of a list given, each with the name its faults stand under."""
    given = asked.given.get(name)
    if given is None:
        return []
    if not isinstance(given, list | tuple) or not all(isinstance(row, Mapping) for row in given):
        asked.wrong(name, tr("Give a list."))
        return []
    if len(given) > most:
        asked.wrong(name, trn("At most {n} at once.", "At most {n} at once.", most))
        return []
    return [(f"{name}.{number}", Asked(row)) for number, row in enumerate(given)]


def _reading(asked: Asked, name: str, row: Asked) -> Reading:
    along = row.distance("at", tr("How far from the seam's start?"))
    lap = row.distance("lap", tr("Read the tape: how far do the sheets lap?"))
    asked.faults |= {f"{name}.{field}": told for field, told in row.faults.items()}
    return Reading(along, lap)


def _run(asked: Asked, name: str, row: Asked) -> Run:
    fault = row.given.get("fault")
    if fault not in FAULTS:
        faults = ", ".join(tr(each) for each in FAULTS)
        row.wrong("fault", tr("What is wrong there is one of: {faults}.", faults=faults))
        fault = FISHMOUTH
    start = row.distance("from", tr("Where does the run start?"))
    end = row.distance("to", tr("Where does the run end?"))
    opening = row.distance("opening", "") if row.has("opening") else 0
    if not row.faults and end <= start:
        row.wrong("to", tr("A run ends farther from the seam's start than it begins."))
    asked.faults |= {f"{name}.{field}": told for field, told in row.faults.items()}
    return Run(str(fault), start, end, opening)
