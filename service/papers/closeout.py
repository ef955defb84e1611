"""The closeout on paper: every zone drawn true to scale, every table with its heads on every page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from service.history.closeout.sheet import ZonePart
from service.history.closeout.whole import Closeout
from service.history.closeout.words import sheet_of
from service.papers.drawing.scale_drawing import ScaleDrawing
from service.papers.setting.times import moment
from service.papers.setting.typeset import compile_pdf

NO_DRAWING = "The sketch has no scale, so this zone cannot be drawn true to it."


def closeout_pdf(told: Closeout, drawings: Mapping[str, ScaleDrawing]) -> bytes:
    """The closeout as PDF: the same bytes for the same facts and drawings.

    `drawings`: by the zone's id, of those that can be drawn. It is dated by the newest entry it is told from,
    not by the hour it is printed.
    """
    sheet = sheet_of(told, lambda at: moment(at, told.head.time_zone))
    data = asdict(sheet)
    data["paper"] = "us-letter" if told.head.units == "us" else "a4"
    pictures: dict[str, bytes] = {}
    for number, (zone, part) in enumerate(zip(sheet.zones, data["zones"], strict=True), start=1):
        part["drawing"] = _drawing(zone, drawings.get(zone.id), f"zone-{number}.svg", pictures)
    return compile_pdf("closeout", data, pictures, sheet.title, told.head.at)


def _drawing(
    zone: ZonePart, drawing: ScaleDrawing | None, name: str, pictures: dict[str, bytes]
) -> dict[str, Any]:
    if drawing is None:
        return {"none": NO_DRAWING}
    pictures[name] = drawing.svg
    return {
        "none": "",
        "name": name,
        "alt": drawing.label,
        "width_mm": drawing.width_mm,
        "height_mm": drawing.height_mm,
        "words": " ".join(filter(None, (drawing.key_words, drawing.bar.words))),
    }
