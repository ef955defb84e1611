"""A layout of sheets that is looked at: drawn, told, moved by its first sheet's edge, sent again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from urllib.parse import urlencode

from service.actions.film.sheet_layouts import Planned
from service.domain.sheets.words import order_words
from service.domain.words.measures import NM_PER_INCH, NM_PER_MM, SIXTEENTH_NM, Units, say_length
from service.domain.words.speech import trn
from service.web.drawings.drawing import ScheduleRow
from service.web.drawings.layout_drawing import LayoutDrawing, ToDraw, draw_layout, laps_of
from service.web.drawings.shown import Shown
from service.web.film.layout_form import Sent
from service.web.film.layout_words import Fact, cost_words, said_facts, sheet_row
from service.web.forms.placed import ring_text

# By how much a press moves the first sheet's edge: (nanometres, words), the fine step and the broad one.
STEPS: dict[Units, tuple[int, int]] = {
    "us": (NM_PER_INCH, 6 * NM_PER_INCH),
    "metric": (10 * NM_PER_MM, 100 * NM_PER_MM),
}
NOT_SENT_ON = ("ask", "do_opening", "request_key", "outline", "reason", "draw_seams", "seen_as")


@dataclass(frozen=True, slots=True)
class Mover:
    """What a script moves the first sheet's edge with. `steps`: nanometres and words of each button;
    `cost_href` takes an offset after it; `grain_nm`: what it is moved by at least; `pitch_nm`: where it
    begins again; `across`: drawing units a metre."""

    cost_href: str
    offset_nm: int
    pitch_nm: int
    grain_nm: int
    steps: tuple[tuple[int, str], ...]
    across: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Answered:
    """The sheets as asked for. `sent`: the fields of the form, to be sent again; `offset`: where a person put
    the first sheet's edge; `best_href`: the same with the least film sought."""

    drawing: LayoutDrawing
    mover: Mover
    cost: dict[str, str]
    facts: tuple[Fact, ...]
    order: str
    rows: tuple[ScheduleRow, ...]
    sent: tuple[tuple[str, str], ...]
    offset: str
    best_href: str
    seen_as: str


def answered(found: Planned, best: Planned, sent: Sent, action: str) -> Answered:
    """The sheets as asked for, all of it decided. `best`: the same with the least film sought."""
    form, layout, sketch = sent.form, found.layout, found.ground.seen.sketch
    units = found.ground.seen.project.units
    fields = _fields(sent)
    query = urlencode(fields)
    drawing = drawing_of(found)
    fine, broad = STEPS[units]
    steps = ((-broad, broad), (-fine, fine), (fine, fine), (broad, broad))
    return Answered(
        drawing=drawing,
        mover=Mover(
            f"{action}/cost.json?{query}&offset=", layout.offset_nm, layout.asked.pitch_nm,
            SIXTEENTH_NM if units == "us" else NM_PER_MM,
            tuple((nm, f"{'−' if nm < 0 else '+'}{say_length(by, units)}") for nm, by in steps),
            drawing.across,
        ),
        cost=cost_words(layout, best.layout, units),
        facts=said_facts(found),
        order=order_words(layout.asked.starts),
        rows=tuple(sheet_row(sheet, sketch, units) for sheet in found.sheets()),
        sent=fields,
        offset=form.value("offset"),
        best_href=f"{action}?{query}&ask=yes" if found.entry.offset_nm is not None else "",
        seen_as=found.seen_as,
    )  # fmt: skip


def _fields(sent: Sent) -> tuple[tuple[str, str], ...]:
    """What was sent, without the offset and what is not of the asking; the openings as they are now."""
    kept = [
        (name, value)
        for name, value in sent.form.values.items()
        if value and name not in (*NOT_SENT_ON, "openings", "offset", "offset_unit") and "press" not in name
    ]
    rings = json.dumps([json.loads(ring_text(ring)) for ring in sent.openings], separators=(",", ":"))
    return (*kept, ("openings", rings)) if sent.openings else tuple(kept)


def drawing_of(found: Planned) -> LayoutDrawing:
    """The sheets of a layout that is not kept, drawn."""
    ground, asked = found.ground, found.layout.asked
    assert asked.direction_udeg is not None, "laid out along a direction"
    what = ToDraw(
        found.sheets(), laps_of(found.layout.seams, ground.per_px), frozenset(), found.openings,
        asked.direction_udeg, asked.starts, asked.pitch_nm,
    )  # fmt: skip
    label = trn(
        "{n} sheet over zone {letters}",
        "{n} sheets over zone {letters}",
        len(found.layout.sheets),
        letters=", ".join(ground.letters),
    )
    return draw_layout(Shown(ground.seen.sketch), ground.zones, what, label)
