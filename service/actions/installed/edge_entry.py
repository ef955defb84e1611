"""What a person gives to describe a stretch of edge or to log its seal, read field by field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.actions.frame.asked import Asked, read_distance
from service.actions.frame.doing import words
from service.domain.installed.terminations import ASKS, ENDS_AT
from service.domain.nouns.installed import FREE_EDGE, JOINT, SHORT_OF_FOOTING, TERMINATION_KINDS, Work
from service.domain.words.speech import later, tr

MOST_ALSO = 60
MOST_WORD, MOST_LOT = 300, 80
WHOSE_WORD = later("Say whose word it is: the engineer's or the local code's, and where it stands.")
WHAT_IS_THERE = later("Say what the film ends at, such as a waterstop or dowels.")

SEALED_ALL_ALONG = later("Is it sealed all along?")
SEALED_QUESTION = {
    JOINT: later("Does the film run past the joint, whole all along?"),
    FREE_EDGE: later("Does the film lie whole to the form, held down all along?"),
    SHORT_OF_FOOTING: later("Does the film lie whole to where it stops, held down all along?"),
}
CLEANED, DRY = later("Was the film cleaned?"), later("Was it dry?")
PROTECTED = later("Is the film past the joint protected?")


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the edge: so many nanometres past the start of a side."""

    edge: int
    nm: int


@dataclass(frozen=True, slots=True)
class StretchEntry:
    """`edges`: whole sides, a stretch each; `part`: one stretch from a place to a place; `bare`: what is not
    described yet, of `edges` or of all."""

    kind: str
    edges: tuple[int, ...]
    part: tuple[Place, Place] | None
    bare: bool
    authority: str
    what: str
    note: str


@dataclass(frozen=True, slots=True)
class SealEntry:
    """A seal as given. `also`: other stretches sealed the same way."""

    sealed: bool
    runs_past_nm: int | None
    protected: bool | None
    work: Work
    also: tuple[str, ...]


def words_needed(text: str, needed: str) -> str:
    """A reason, trimmed; BadInput where none is given."""
    return words(text, "reason", needed=needed)


# --- a stretch -------------------------------------------------------------------------------------------


def read_stretch(given: Mapping[str, Any]) -> StretchEntry:
    """`kind`; `edges`, `from` and `to`, or `bare`; the word for a footing, what the impediment is."""
    reading = Asked(given)
    kind = given.get("kind")
    part, edges = _part(reading), _edges(reading)
    bare = given.get("bare") is True
    if part is not None and (edges or bare):
        reading.wrong("edges", tr("Give whole sides, or one part from a place to a place; not both."))
    elif part is None and not (edges or bare) and not {"from", "to", "edges"} & set(reading.faults):
        reading.wrong("edges", tr("Say which part of the edge: sides, or a part from a place to a place."))
    if not kind:
        reading.wrong("kind", tr("Say how the film ends there."))
    elif kind not in TERMINATION_KINDS:
        kinds = ", ".join(tr(each) for each in TERMINATION_KINDS)
        reading.wrong("kind", tr("How the film ends there is one of: {kinds}.", kinds=kinds))
    asks = ASKS.get(kind, ()) if isinstance(kind, str) else ()
    entry = StretchEntry(
        kind=str(kind),
        edges=edges,
        part=part,
        bare=bare,
        authority=reading.text("authority", MOST_WORD, tr(WHOSE_WORD) if "authority" in asks else None),
        what=reading.text("what", MOST_WORD, tr(WHAT_IS_THERE) if "what" in asks else None),
        note=reading.text("note", 2000),
    )
    reading.done()
    return entry


def _edges(reading: Asked) -> tuple[int, ...]:
    edges = reading.given.get("edges")
    if edges is None:
        return ()
    whole = isinstance(edges, list | tuple) and all(type(edge) is int and edge > 0 for edge in edges)
    if not whole or len(edges) > MOST_ALSO:
        reading.wrong(
            "edges", tr("Sides are told by their numbers, at most {most} in one go.", most=MOST_ALSO)
        )
        return ()
    return tuple(dict.fromkeys(edges))


def _part(reading: Asked) -> tuple[Place, Place] | None:
    if reading.given.get("from") is None and reading.given.get("to") is None:
        return None
    start, end = _place(reading, "from"), _place(reading, "to")
    return None if start is None or end is None else (start, end)


def _place(reading: Asked, name: str) -> Place | None:
    given = reading.given.get(name)
    if not isinstance(given, Mapping) or type(given.get("edge")) is not int:
        reading.wrong(name, tr("A place is a side's number and how far past the start of that side it lies."))
        return None
    far = given.get("distance")
    if not isinstance(far, str) or not far.strip():
        reading.wrong(name, tr("Say how far past the start of the side, with its unit."))
        return None
    return Place(given["edge"], reading.take(lambda: read_distance(far, name), 0))


# --- a seal ----------------------------------------------------------------------------------------------


def read_seal(kind: str, given: Mapping[str, Any]) -> SealEntry:
    """How a stretch of this kind was sealed. Tape width is asked where film ends at something that stands;
    0 says mastic. How far film runs past, and that it is protected, is asked at a joint only."""
    reading = Asked(given)
    sealed = reading.yes_or_no("sealed", tr(SEALED_QUESTION.get(kind, SEALED_ALL_ALONG)))
    past, protected = _beyond(reading, kind)
    work = Work(
        cleaned=reading.yes_or_no("cleaned", tr(CLEANED)),
        dry=reading.yes_or_no("dry", tr(DRY)),
        tape_width_nm=_tape(reading, kind),
        film_mf=reading.temperature("film_temperature"),
        lot=reading.text("lot", MOST_LOT),
        note=reading.text("note", 2000),
    )
    also = given.get("also") or ()
    listed = isinstance(also, list | tuple) and all(isinstance(other, str) for other in also)
    if not listed or len(also) > MOST_ALSO:
        reading.wrong("also", tr("The others are a list of ids, at most {most}.", most=MOST_ALSO))
        also = ()
    reading.done()
    return SealEntry(sealed, past, protected, work, tuple(dict.fromkeys(also)))


def _beyond(reading: Asked, kind: str) -> tuple[int | None, bool | None]:
    if "runs_past" in ASKS[kind]:
        past = reading.distance(
            "runs_past", tr("Measure how far the film runs past the joint, with its unit.")
        )
        return past, reading.yes_or_no("protected", tr(PROTECTED))
    for name in ("runs_past", "protected"):
        if reading.given.get(name) is not None:
            reading.wrong(name, tr("Only at a construction joint does film run past."))
    return None, None


def _tape(reading: Asked, kind: str) -> int:
    if kind not in ENDS_AT and not reading.given.get("tape_width"):
        return 0  # nothing stands there to tape to
    return reading.distance("tape_width", tr("Give the tape's width with its unit, or 0 for mastic."))
