"""The form in which a zone is outlined: corners pressed or sides typed, its size told as it grows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.actions.frame.reading import SketchView
from service.domain.nouns.site import Sketch
from service.domain.sketch.places import milli
from service.domain.sketch.typed_sides import CLOSES_NM, Run, read_sides, run_of
from service.domain.sketch.zones import BadZone, area_m2, check_zone_outline, perimeter_nm
from service.domain.words.measures import Units, say_area, say_distance, say_length, say_perimeter
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr, trc
from service.web.drawings.drawing import SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import RING, Chosen, Point, choose
from service.web.forms.forms import Form
from service.web.forms.placed import ring_text
from service.web.shared.sketch_answers import PLAN, plan_drawing, plan_ground

# A corner is pressed from further out than a hole: a dot of the picture may be 4 in of ground.
CORNER_FINE_M = 0.1016
NAMES = {"outline": PLAN}


@dataclass(frozen=True, slots=True)
class ZonePage:
    """`templates/office/zone_form.html`. size: area and perimeter of the corners so far, or nothing.

    typed: letter, name, place_at and sides as they stand in the form. note: what the typed sides came to.
    letter_fixed: an outlined zone keeps its letter for ever. warning: what a new outline does.
    """

    title: str
    sketch: str
    letter_fixed: str
    drawing: SketchDrawing
    chosen: Chosen
    units: Units
    typed: Mapping[str, str]
    size: str
    note: str
    sides_hint: str
    zone_time: str
    warning: str
    words: str
    key: str
    action: str
    back: str
    withdraw: str


def chosen_corners(view: SketchView, sent: Mapping[str, str], leave_out: str = "") -> Chosen:
    """The corners a form holds, after what was pressed on the picture."""
    ground = plan_ground(view, leave_out=leave_out)
    return choose(sent, ground, RING, fine_m=CORNER_FINE_M, units=view.seen.project.units)


def drawing_of(view: SketchView, leave_out: str = "") -> SketchDrawing:
    return plan_drawing(
        view, label=tr("The sketch, to press the corners of the zone on"), leave_out=leave_out
    )


def worked_out(view: SketchView, form: Form, chosen: Chosen) -> tuple[str, str]:
    """The outline that the typed sides lead to from the first corner, and what they came to in words.

    With a fault, noted in the form's errors, the outline stays as it was.
    """
    now = chosen.values[0]
    sketch, units = view.seen.sketch, view.seen.project.units
    try:
        sides = read_sides(form.value("sides"))
    except BadInput as bad:
        form.refused(bad)
        return now, ""
    if not chosen.settled:
        form.wrong(PLAN, tr("Press the corner that the first side starts from."))
        return now, ""
    run = run_of(milli(chosen.settled[0]), sides, Shown(sketch).nm_per_px)
    return ring_text([(x / 1000, y / 1000) for x, y in run.corners]), _came_to(run, units)


def _came_to(run: Run, units: Units) -> str:
    """How the sides close: the one thing that shows a mistyped length."""
    if run.closed:
        if not run.gap_nm:
            return tr("The last side comes back to the first corner exactly.")
        return tr(
            "The last side comes back to the first corner, {length} off.",
            length=say_length(run.gap_nm, units),
        )
    gap, (right, down) = say_distance(run.gap_nm, units), run.back
    if min(abs(right), abs(down)) <= CLOSES_NM:
        way = ("right" if right > 0 else "left") if abs(right) > abs(down) else ("down" if down > 0 else "up")
        return tr(
            "The zone closes with one more side, straight {way}, {length} long. Is that what the plan says?",
            way=trc("side", way),
            length=gap,
        )
    return tr("The zone closes with one more side of {gap} on a slant. Is a length wrong?", gap=gap)


def size_words(sketch: Sketch, corners: Sequence[Point], units: Units) -> str:
    """Area and perimeter of the corners so far, in the project's units; why not, where they make no zone."""
    if len(corners) < 3:
        return ""
    ring = [milli(corner) for corner in corners]
    try:
        check_zone_outline(ring, sketch.width_px, sketch.height_px)
    except BadZone as bad:
        return str(bad)
    per_px = Shown(sketch).nm_per_px
    area, round_it = say_area(area_m2(ring, per_px), units), say_perimeter(perimeter_nm(ring, per_px), units)
    return tr("{area}, {perimeter} round", area=area, perimeter=round_it)
