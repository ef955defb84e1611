"""The closeout as a sheet: what its page and its paper are set from, in decided words and ruled rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from service.domain.rule_sheet.floor_tests import Said
from service.domain.words.speech import tr
from service.history.closeout.told import Act, Undone

When = Callable[[datetime], str]  # a moment as the project's clock tells it
# What stands in a cell: its words, then quieter lines below them.
Cell = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """`kind`: "" or a state with hyphens. `thing`: kind and id of what it is about, where that has a page."""

    cells: tuple[Cell, ...]
    kind: str = ""
    thing: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class Table:
    """`shares`: how wide each column is beside the others."""

    caption: str
    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the sheet. `name`: its anchor. `strong`: what must not be overread, set off from the rest."""

    name: str
    heading: str
    strong: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True, slots=True)
class ZonePart:
    """One zone: its title block, then its tables. `kind`: its state as the drawings name it. `reasons`: what
    stands or stood against it, under `reasons_lead`."""

    id: str
    name: str
    letter: str
    block: tuple[tuple[str, str], ...]
    stands: str
    small: str
    kind: str
    facts: tuple[tuple[str, str], ...]
    reasons_lead: str
    reasons: tuple[str, ...]
    tables: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole closeout. `zones` stand between what comes `before` and what comes `after` them."""

    title: str
    block: tuple[tuple[str, str], ...]
    stands: str
    small: str
    before: tuple[Part, ...]
    zones: tuple[ZonePart, ...]
    after: tuple[Part, ...]
    running: str


def tables_of(sheet: Sheet) -> Iterator[Table]:
    """Every table of the sheet, in its order."""
    yield from tables_in(sheet.before)
    for zone in sheet.zones:
        yield from zone.tables
    yield from tables_in(sheet.after)


def tables_in(parts: Iterable[Part]) -> Iterator[Table]:
    for part in parts:
        yield from part.tables


# --- words that every part uses --------------------------------------------------------------------------


def who(act: Act) -> str:
    return f"{act.who}, {tr(act.role)}"


def by(act: Act, when: When) -> str:
    """`Lou Lead, crew lead, Thu 26 Nov 2026, 6:30 am, entry 45`."""
    return f"{who(act)}, {at(act, when)}"


def at(act: Act, when: When) -> str:
    """`Thu 26 Nov 2026, 6:30 am, entry 45`."""
    return tr("{when}, entry {seq}", when=when(act.at), seq=f"{act.seq:,}")


def taken_back(undone: Undone, when: When) -> str:
    return tr("withdrawn: {why} ({by})", why=undone.why.removesuffix("."), by=by(undone.act, when))


def cell(words: str, *more: str) -> Cell:
    """A cell without its empty lines."""
    return (words, *(line for line in more if line))


def starting(words: str) -> str:
    """The words with a capital first letter."""
    return words[:1].upper() + words[1:]


def said_rows(said: tuple[Said, ...]) -> Iterator[Row]:
    """What is asked, in words, and where it comes from."""
    for each in said:
        yield Row(((tr(each.term),), (tr(each.words),), (tr(each.source),)))
