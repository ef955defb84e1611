"""Thickness readings of a slab as somebody gives them, several at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.actions.frame.asked import Asked
from service.actions.frame.doing import LONGEST_NOTE
from service.domain.nouns.placing import DepthReading
from service.domain.placing.concrete import THICKEST_NM
from service.domain.placing.thickness import BadThickness, judge
from service.domain.words.speech import tr, trn

MOST_DEPTHS = 60
LONGEST_WHERE = 120


@dataclass(frozen=True, slots=True)
class ThicknessEntry:
    readings: tuple[DepthReading, ...]
    note: str


def read_thickness(given: Mapping[str, Any]) -> ThicknessEntry:
    """BadInput names every field at fault at once, `readings.2.depth` the third reading's thickness."""
    asked = Asked(given)
    rows = given.get("readings")
    listed = isinstance(rows, list | tuple) and all(isinstance(row, Mapping) for row in rows)
    if not listed or not rows:
        asked.wrong("readings", tr("Measure the slab in one place at least."))
        rows = ()
    if len(rows) > MOST_DEPTHS:
        asked.wrong("readings", trn("At most {n} at once.", "At most {n} at once.", MOST_DEPTHS))
        rows = ()
    read = tuple(_reading(asked, f"readings.{number}", Asked(row)) for number, row in enumerate(rows))
    note = asked.text("note", LONGEST_NOTE)
    asked.done()
    return ThicknessEntry(read, note)


def _reading(asked: Asked, name: str, row: Asked) -> DepthReading:
    depth = row.distance("depth", tr("How thick is the slab there?"))
    where = row.text("where", LONGEST_WHERE)
    if not row.faults:
        _check(row, depth)
    asked.faults |= {f"{name}.{field}": told for field, told in row.faults.items()}
    asked.code = asked.code or row.code
    return DepthReading(depth, where)


def _check(row: Asked, depth_nm: int) -> None:
    """No slab is as thin as nothing, nor as thick as a house."""
    try:
        judge([depth_nm], max(depth_nm, 1))
    except BadThickness as bad:
        row.wrong("depth", str(bad), bad.code)
    if depth_nm > THICKEST_NM:
        row.wrong("depth", tr("That is thicker than any slab: check the number and its unit."))
