"""A penetration to place and a seal to log as somebody gives them, read from the contract's forms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.actions.frame.asked import Asked
from service.actions.frame.doing import LONGEST_NOTE
from service.domain.installed.penetrations import LEAST_ROW, LONGEST_ROW
from service.domain.installed.trade_sizes import KINDS, MEASURED, NoSuchSize, size_of
from service.domain.nouns.installed import COLLAR, SEAL_METHODS, Work
from service.domain.shapes.outline_texts import BadOutline, read_outline
from service.domain.shapes.outlines import Circle, Outline, Slit, least_rectangle, reach_nm
from service.domain.words.names import penetration_kind
from service.domain.words.speech import later, tr
from service.storage.history.slices import BROADEST_NM

MOST_LOT, LONGEST_SIZE = 80, 60
MOST_ALSO, MOST_ALIKE = 50, LONGEST_ROW

FINGERS = later("Are its fingers cut half its width?")
TAPED_TO_PIPE = later("Is the collar taped to what it wraps?")
TAPED_TO_FILM = later("Are its fingers taped to the film?")
CLOSE_CUT = later("Is the hole in the film cut just big enough?")
CLEANED, DRY = later("Was the film cleaned?"), later("Was it dry?")


@dataclass(frozen=True, slots=True)
class Row:
    """Alike in a row, both ends among them: `count` of them, or one every `spacing_nm`. Ends in pixels of
    today's picture."""

    first: Sequence[float]
    last: Sequence[float]
    count: int | None
    spacing_nm: int | None


@dataclass(frozen=True, slots=True)
class PlaceEntry:
    """What is to be placed, and where: `at` in pixels of today's picture, or a `row`. `outline` as it lies on
    that picture; `size` empty where it was measured."""

    kind: str
    size: str
    outline: Outline
    at: Sequence[float] | None
    row: Row | None
    note: str


@dataclass(frozen=True, slots=True)
class SealEntry:
    """A seal as built. `also`: others inside the same seal; `same_for`: others with one like it each."""

    method: str
    collar_width_nm: int
    collar_length_nm: int
    fingers: bool
    taped_to_pipe: bool
    taped_to_film: bool
    close_cut: bool
    work: Work
    also: tuple[str, ...]
    same_for: tuple[str, ...]


# --- placing ---------------------------------------------------------------------------------------------


def read_place(given: Mapping[str, Any]) -> PlaceEntry:
    """`kind`; its `size` or a measured `outline`; `at`, or `from` and `to` with `count` or `spacing`; `note`.

    BadInput names every field at fault.
    """
    asked = Asked(given)
    kind = given.get("kind")
    if kind not in KINDS:
        kinds = ", ".join(penetration_kind(each) for each in KINDS)
        asked.wrong("kind", tr("Say what passes through the film. One of: {kinds}.", kinds=kinds))
    size, outline = _true_size(asked, kind if kind in KINDS else "")
    entry = PlaceEntry(
        str(kind), size, outline, _place(asked, "at"), _row(asked), asked.text("note", LONGEST_NOTE)
    )
    if (
        entry.at is None
        and entry.row is None
        and not {"at", "from", "to", "count", "spacing"} & set(asked.faults)
    ):
        asked.wrong("at", tr("Say where it stands."))
    if entry.at is not None and entry.row is not None:
        asked.wrong("at", tr("Give one place, or the two ends of a row; not both."))
    asked.done()
    return entry


def _true_size(asked: Asked, kind: str) -> tuple[str, Outline]:
    """The size's name and its outside, or no name and the outline measured."""
    nothing = "", Circle(1)
    if asked.has("size") and asked.has("outline"):
        asked.wrong("size", tr("Give a trade size, or what was measured; not both."))
        return nothing
    if asked.has("outline"):
        return "", _measured(asked)
    name = asked.text("size", LONGEST_SIZE)
    if not name:
        told = (
            tr("Measure across its outside.")
            if kind in MEASURED
            else tr("Say its size, or measure across its outside.")
        )
        asked.wrong("outline" if kind in MEASURED else "size", told)
        return nothing
    if not kind:
        return nothing
    try:
        found = size_of(kind, name)
    except NoSuchSize as bad:
        asked.wrong("size", str(bad), "no-such-size")
        return nothing
    return found.name, Circle(found.od_nm)


def _measured(asked: Asked) -> Outline:
    nothing = Circle(1)
    try:
        outline = read_outline(asked.given["outline"])
    except BadOutline as bad:
        asked.wrong(bad.field or "outline", str(bad), bad.code)
        return nothing
    if isinstance(outline, Slit):
        asked.wrong("shape", tr("What passes through is round or four-cornered, or told by its corners."))
        return nothing
    if max(*least_rectangle(outline)[:2], reach_nm(outline)) > BROADEST_NM:
        field = {"circle": "diameter", "rectangle": "length"}.get(asked.given["outline"]["shape"], "points")
        told = tr("That is larger than 10 ft (3,048 mm) across. Read the tape again, and check the unit.")
        asked.wrong(
            field,
            " ".join((told, tr("An opening that large is an edge of the film: outline the zone round it."))),
            "too-big",
        )
    return outline


def _place(asked: Asked, name: str) -> Sequence[float] | None:
    """A place as given; what is no place is refused where it is brought into the sketch's frame."""
    place = asked.given.get(name)
    if place is None:
        return None
    if isinstance(place, list | tuple) and len(place) == 2:
        return place
    asked.wrong(name, tr("A place is two numbers: pixels from the left and from the top."))
    return None


def _row(asked: Asked) -> Row | None:
    if not any(asked.has(name) for name in ("from", "to", "count", "spacing")):
        return None
    first, last = _place(asked, "from"), _place(asked, "to")
    for name, place in (("from", first), ("to", last)):
        if place is None:
            asked.wrong(name, tr("A row has a first place and a last."))
    count = _count(asked)
    spacing = asked.length("spacing", tr("Say how far apart they stand.")) if asked.has("spacing") else None
    if asked.has("count") == asked.has("spacing"):
        asked.wrong("count", tr("Say how many stand in the row, or how far apart; one of the two."))
    return None if first is None or last is None else Row(first, last, count, spacing)


def _count(asked: Asked) -> int | None:
    given = asked.given.get("count")
    if given is None:
        return None
    if type(given) is not int or not LEAST_ROW <= given <= LONGEST_ROW:
        asked.wrong(
            "count",
            tr("A row holds {least} to {most}, as a whole number.", least=LEAST_ROW, most=LONGEST_ROW),
        )
        return None
    return given


# --- sealing ---------------------------------------------------------------------------------------------


def read_seal(given: Mapping[str, Any]) -> SealEntry:
    """`method`, and what that method is asked: of a collar its width, length, fingers, tape; of mastic and of
    sealant in a dam whether the hole is close. Cleaned and dry of every one. BadInput names every field."""
    asked = Asked(given)
    method = given.get("method")
    if method not in SEAL_METHODS:
        methods = ", ".join(tr(each) for each in SEAL_METHODS)
        asked.wrong("method", tr("Say how it is sealed. One of: {methods}.", methods=methods))
    collar, close = method == COLLAR, method in SEAL_METHODS and method != COLLAR
    wide = asked.length("collar_width", tr("Measure the collar's width, with its unit.")) if collar else 0
    long = asked.length("collar_length", tr("Measure the length it was cut, with its unit.")) if collar else 0
    entry = SealEntry(
        method=str(method),
        collar_width_nm=wide,
        collar_length_nm=long,
        fingers=collar and asked.yes_or_no("fingers", tr(FINGERS)),
        taped_to_pipe=collar and asked.yes_or_no("taped_to_pipe", tr(TAPED_TO_PIPE)),
        taped_to_film=collar and asked.yes_or_no("taped_to_film", tr(TAPED_TO_FILM)),
        close_cut=close and asked.yes_or_no("close_cut", tr(CLOSE_CUT)),
        work=Work(
            cleaned=asked.yes_or_no("cleaned", tr(CLEANED)),
            dry=asked.yes_or_no("dry", tr(DRY)),
            tape_width_nm=asked.length("tape_width", tr("Give the tape's width with its unit."))
            if collar
            else 0,
            film_mf=asked.temperature("film_temperature"),
            lot=asked.text("lot", MOST_LOT),
            note=asked.text("note", LONGEST_NOTE),
        ),
        also=asked.ids("also", MOST_ALSO),
        same_for=asked.ids("same_for", MOST_ALIKE),
    )
    if entry.also and entry.same_for:
        asked.wrong("same_for", tr("A seal round several is logged by itself: log the others after it."))
    asked.done()
    return entry
