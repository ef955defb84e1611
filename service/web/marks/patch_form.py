"""The patch form: what it offers, what it keeps as typed, and what it sends on in the contract's forms."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.actions.marks.patch_entry import PATCH_METHODS
from service.domain.gate.surroundings import walled_sides
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.rules import SHEET_PATCH, RuleSheet
from service.domain.nouns.site import Defect
from service.domain.patches.repair import COVERED, SEALED, Numbers, workmanship
from service.domain.shapes.outlines import Circle, Outline, Polygon, Sides, cut_size
from service.domain.shapes.sides import SIDE_WORDS, side_angle
from service.domain.words.measures import BadLength, Units, parse_length, say_distance, say_length
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import Choice, PatchDrawing, Reading
from service.web.drawings.patch_drawing import draw_patch, live_rows
from service.web.forms.forms import Form
from service.web.forms.sending import new_key
from service.web.marks.judge_pack import pack_of
from service.web.marks.mending import pieces_words
from service.web.marks.seals import Words, facts_of
from service.web.marks.shapes import ShapeFields, bare_length, given_outline, shape_fields
from service.web.shared.crew_words import FORM_UNIT, film_word, need, starting, what
from service.web.shared.last_used import last_used, lots_laid_here

READINGS, SIZE = "readings", "size"
ANSWERS = (
    ("cleaned", later("Was the film cleaned?")),
    ("dry", later("Was it dry?")),
    ("edges_taped", later("Are all edges taped?")),
)
# By half an inch or a centimetre, in sixteenths of an inch or millimetres.
TAPE_STEPS = {
    "in": (Choice("-8", "− 1/2"), Choice("8", "+ 1/2")),
    "mm": (Choice("-10", "− 10"), Choice("10", "+ 10")),
}
NEAR_NM = 3_048_000_000  # other marks within 10 ft may lie under the same piece
MOST_NEAR = 12


@dataclass(frozen=True, slots=True)
class NearMark:
    """Another open mark close by, to tick where the piece covers it too."""

    id: str
    tag: str
    words: str
    checked: bool


@dataclass(frozen=True, slots=True)
class PatchPage:
    """`templates/crew/patch.html`. `values` hold every plain field as typed; `answers` are (name, question).

    `pack`: what the phone judges by while typing (`judge_pack.pack_of`). `mends`: a patch can seal this mark.
    `tape_start`: the tape width that the rule sheet asks, put into an empty field by its stepper.
    """

    tag: str
    piece: str
    what: str
    need: str
    pieces: str
    told: str
    action: str
    back: str
    key: str
    by: str
    drawing: PatchDrawing
    rows: tuple[Reading, ...]
    unit: str
    units_hint: str
    may_turn: bool
    turn_deg: str
    verdict: Words
    pack: Mapping[str, object] | None
    mends: bool
    size: ShapeFields
    tape_start: str
    tape_steps: tuple[Choice, ...]
    answers: tuple[tuple[str, str], ...]
    values: Mapping[str, str]
    methods: tuple[Choice, ...]
    lots: tuple[str, ...]
    near: tuple[NearMark, ...]


PLAIN = (
    "offset_x", "offset_x_way", "offset_y", "offset_y_way", "cleaned", "dry", "edges_taped", "tape_width",
    "lot", "film_temperature", "method", "note", "cut_length", "cut_width",
)  # fmt: skip


def patch_page(
    view: ZoneView,
    defect: Defect,
    values: Mapping[str, str],
    also: list[str],
    verdict: Words = ("", "", ""),
    planned: str = "",
) -> PatchPage:
    """The form with what was typed, or with what is offered. `planned`: that a plan filled it in."""
    project, angle = view.seen.project, angle_of(defect.outline, values)
    unit, minimum = FORM_UNIT[project.units], project.sheet.patch_overlap.nm
    piece = film_word(defect)
    label = tr(
        "{piece} over {what}", piece=starting(tr(piece)), what=f"{defect.tag}: {what(defect, project.units)}"
    )
    earlier, mends = has_earlier(view, defect), defect.kind in COVERED
    return PatchPage(
        tag=defect.tag,
        piece=tr(piece),
        what=what(defect, project.units),
        need=need(defect, project.sheet, project.units),
        pieces=pieces_words(view, defect),
        told=" ".join(filter(None, (planned, _told(defect, earlier)))),
        action=f"/defects/{defect.id}/patch",
        back=f"/defects/{defect.id}",
        key=values.get("request_key") or new_key(),
        by=values.get("by", READINGS),
        drawing=draw_patch(
            defect.outline,
            minimum,
            _sides_typed(values, angle, unit),
            label=label,
            live={
                **live_rows(defect.outline, minimum, angle, project.units),
                "start": max(minimum, _typed_nm(values.get("read_from", ""), unit) or 0),
            },
        ),
        rows=_readings(view, defect, values, angle, unit),
        unit=unit,
        units_hint=say_length(minimum, project.units, "up"),
        may_turn=isinstance(defect.outline, Circle | Polygon),
        turn_deg=f"{angle / 1e6:g}",
        verdict=verdict,
        pack=pack_of(view, defect, angle),
        mends=mends,
        size=shape_fields(values, project.units, _as_cut(defect.outline, project.sheet, project.units)),
        tape_steps=TAPE_STEPS[unit],
        tape_start=bare_length(project.sheet.tape_width.nm, project.units, "up"),
        answers=tuple((name, tr(asked)) for name, asked in ANSWERS),
        values={name: values.get(name, "") for name in PLAIN},
        methods=_methods(project.sheet.repair_methods),
        lots=lots_laid_here(view),
        near=_near(view, defect, also),
    )


def _as_cut(damage: Outline, sheet: RuleSheet, units: Units) -> dict[str, str]:
    """Where the steppers of a patch told by its size start: at the size it was to be cut to."""
    length, width, _ = cut_size(damage, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    long, wide = bare_length(length, units, "up"), bare_length(width, units, "up")
    return {"diameter": long, "length": long, "width": wide, "slit_length": long, "opening": wide}


def _told(defect: Defect, earlier: bool) -> str:
    if defect.kind not in COVERED:
        return tr(
            "A patch may be logged here, and it does not seal this: it stays held until mended as said."
        )
    told = tr("What lies there already counts with this one where they lap far enough.")
    return told if earlier else ""


def has_earlier(view: ZoneView, defect: Defect) -> bool:
    """True when a patch that counts lies on the mark already."""
    numbers = Numbers.of(view.seen.project.sheet)
    standing = (p for p in view.patches_on(defect.id) if p.withdrawn is None)
    return any(not workmanship(facts_of(view, patch, defect), numbers) for patch in standing)


def angle_of(damage: Outline, values: Mapping[str, str]) -> int:
    """The frame's angle in micro-degrees: the damage's own, or for round and free shapes as turned."""
    if not isinstance(damage, Circle | Polygon):
        return side_angle(damage)
    try:
        turned = float(values.get("turn_deg", "") or 0) + float(values.get("turn", "") or 0)
    except ValueError:
        turned = 0.0
    return side_angle(damage, round(turned * 1e6)) if math.isfinite(turned) and abs(turned) < 1e6 else 0


def _readings(
    view: ZoneView, defect: Defect, values: Mapping[str, str], angle: int, unit: str
) -> tuple[Reading, ...]:
    around, minimum = view.around(), view.seen.project.sheet.patch_overlap.nm
    walled = walled_sides(defect.outline, defect.at, angle, around) if around else set()
    return tuple(
        Reading(
            side=side,
            text=values.get(side, ""),
            low=_below(values.get(side, ""), unit, minimum),
            may_wall=side in walled,
            wall=values.get(f"{side}_wall") == "yes",
        )
        for side in SIDE_WORDS
    )


def _typed_nm(text: str, unit: str) -> int | None:
    """A reading in nanometres, bare or with its own unit; None when it is none."""
    for spelled in (text, f"{text} {unit}"):
        try:
            return parse_length(spelled, zero_ok=True)
        except BadLength:
            continue
    return None


def _below(text: str, unit: str, minimum_nm: int) -> bool:
    read = _typed_nm(text, unit)
    return read is not None and read < minimum_nm


def _sides_typed(values: Mapping[str, str], angle: int, unit: str) -> Sides:
    """What the drawing shows before scripts take over: each reading typed, nothing where none is."""
    read = {
        side: None if values.get(f"{side}_wall") == "yes" else _typed_nm(values.get(side, ""), unit) or 0
        for side in SIDE_WORDS
    }
    if all(nm is None for nm in read.values()):
        read = dict.fromkeys(SIDE_WORDS, 0)
    return Sides(read["left"], read["right"], read["near"], read["far"], angle)


def _methods(counted: tuple[str, ...]) -> tuple[Choice, ...]:
    return tuple(
        Choice(method, starting(tr(method)), "" if method in counted else tr("kept, and does not seal"))
        for method in PATCH_METHODS
    )


def _near(view: ZoneView, defect: Defect, also: list[str]) -> tuple[NearMark, ...]:
    """Marks within reach of one piece that are not sealed, and those ticked, nearest first."""
    scale, units = view.seen.sketch.scale, view.seen.project.units
    if scale is None:
        return ()
    per_milli = nm_per_px(scale) / 1000
    found = sorted(
        (math.dist(other.at, defect.at) * per_milli, other.tag, other)
        for other in view.site.defects.values()
        if other.id != defect.id and other.id in view.standing.verdicts
    )
    rows = [
        NearMark(
            id=other.id,
            tag=tag,
            words=tr("{what}, {far} away", what=what(other, units), far=say_distance(round(far), units)),
            checked=other.id in also,
        )
        for far, tag, other in found
        if other.id in also or (far <= NEAR_NM and view.verdict(other).state != SEALED)
    ]
    # However many are shown, what was ticked stays ticked.
    kept = [row.id for row in sorted(rows, key=lambda row: not row.checked)[: max(MOST_NEAR, len(also))]]
    return tuple(row for row in rows if row.id in kept)


def offered(view: ZoneView, person_id: str) -> dict[str, str]:
    """What this person used last: tape and lot, and the least reading, where the steppers start.

    The four readings and the yes-or-no answers are never there beforehand.
    """
    read = (
        (patch.logged_at, min(nm for nm in patch.sides.readings().values() if nm is not None))
        for patch in view.site.patches.values()
        if patch.by == person_id and patch.sides is not None
    )
    _, least = max(read, default=(None, 0))
    start = bare_length(least, view.seen.project.units, "down") if least else ""
    return {"by": READINGS, "method": SHEET_PATCH, "read_from": start, **last_used(view, person_id)}


def given_patch(form: Form, defect: Defect) -> dict[str, object]:
    """The whole form in the contract's forms. A question nobody answered stays unanswered."""
    plain = {name: form.value(name) for name in ("method", "lot", "film_temperature", "note")}
    answers = {name: {"yes": True, "no": False}.get(form.value(name)) for name, _ in ANSWERS}
    tape = form.with_unit("tape_width")
    return {
        **given_shape(form, defect),
        **plain,
        **answers,
        "tape_width": tape if tape.strip() else None,
        "also": form.many("also"),
    }


def given_shape(form: Form, defect: Defect) -> dict[str, object]:
    """The patch's readings, or its size and offset, in the contract's forms."""
    if form.value("by") == SIZE:
        offset = [_away(form, "offset_x", "left"), _away(form, "offset_y", "up")]
        return {"outline": given_outline(form), "offset": offset}
    sides: dict[str, object] = {side: _reading(form, side) for side in SIDE_WORDS}
    if isinstance(defect.outline, Circle | Polygon):
        sides["angle_deg"] = angle_of(defect.outline, form.values) / 1e6
    given: dict[str, object] = {"sides": sides}
    if form.value("cut_length").strip() or form.value("cut_width").strip():
        given["cut"] = {"length": form.with_unit("cut_length"), "width": form.with_unit("cut_width")}
    return given


def _reading(form: Form, side: str) -> str:
    if form.flag(f"{side}_wall"):
        return "wall"
    form.values[f"{side}_unit"] = form.value("unit")
    return form.with_unit(side)


def _away(form: Form, name: str, minus: str) -> object:
    typed = form.with_unit(name).strip()
    if not typed:
        return 0
    return f"-{typed}" if form.value(f"{name}_way") == minus else typed
