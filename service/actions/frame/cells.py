"""Cells of the record's tables: one CSV a kind, opened by any spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime

from service.domain.nouns.site import Px
from service.domain.words.measures import Units, say_length
from service.history.facts.encoding import time_text

Cell = str | int | bool | None

# A spreadsheet runs a cell that starts like this as a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """CSV with its head; a text that a spreadsheet would run as a formula gets a ' in front."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: Cell) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return f"'{value}" if value.startswith(_FORMULA) else value
    return "" if value is None else str(value)


def as_typed(cell: str) -> str:
    """The text of a cell without the ' that `table` put in front of it."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_FORMULA) else cell


def time(moment: datetime | None) -> str:
    """A time as the history writes it, empty where there is none."""
    return "" if moment is None else time_text(moment)


def px(point: Px) -> str:
    """A place in pixels of the sketch's first picture."""
    return f"{point[0] / 1000:.3f} {point[1] / 1000:.3f}"


def length(nm: int | None, units: Units) -> str:
    """A measured length rounded down, so that the table never says more than was there."""
    return "" if nm is None else say_length(nm, units, "down")
