"""The true-size shape of damage or of a patch, as a form asks for it and as the JSON contract takes it."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit
from service.domain.shapes.sides import ADD_UP_WITHIN_NM
from service.domain.sketch.typed_sides import read_sides
from service.domain.words.measures import NM_PER_MM, Toward, Units, say_length
from service.domain.words.refusals import BadInput, Refusal
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import Choice
from service.web.forms.forms import Form
from service.web.shared.crew_words import FORM_UNIT

SHAPES = (
    ("circle", later("Round"), later("by its diameter")),
    ("rectangle", later("Four-cornered"), later("length and width")),
    ("slit", later("Slit"), later("a cut, open or closed")),
    ("polygon", later("Free shape"), later("drawn, or side by side")),
)
ANGLES = tuple(map(str, range(0, 180, 15)))
# Where a message of the contract's field stands in the form, by shape.
FIELDS = {
    ("slit", "length"): "slit_length",
    ("slit", "angle_deg"): "slit_angle",
    ("polygon", "points"): "corners",
    ("circle", "outline"): "diameter",
    ("rectangle", "outline"): "length",
    ("slit", "outline"): "slit_length",
    ("polygon", "outline"): "corners",
    ("", "sides"): "far",
    ("", "at"): "sketch",
    ("", "photo"): "picture",
}


@dataclass(frozen=True, slots=True)
class ShapeFields:
    """What `templates/parts/shapes.html` shows: everything as typed. `unit` stands beside each length.

    `steps`: what a stepper adds, in sixteenths of an inch or in millimetres. `starts`: the length that the
    first press of a stepper puts into each field.
    """

    shapes: tuple[Choice, ...]
    shape: str
    unit: str
    values: Mapping[str, str]
    angles: tuple[tuple[str, str], ...]
    sizes: tuple[str, ...]
    steps: tuple[Choice, ...]
    starts: Mapping[str, str]


NAMES = (
    "diameter", "length", "width", "angle_deg", "slit_length", "opening", "slit_angle", "corners", "walked",
)  # fmt: skip


STEPS: dict[str, tuple[Choice, ...]] = {
    "in": (Choice("-16", "− 1"), Choice("-2", "− 1/8"), Choice("2", "+ 1/8"), Choice("16", "+ 1")),
    "mm": (Choice("-10", "− 10"), Choice("-1", "− 1"), Choice("1", "+ 1"), Choice("10", "+ 10")),
}
STARTS = {
    "in": {"diameter": "1/2", "length": "4", "width": "2", "slit_length": "12", "opening": "1/4"},
    "mm": {"diameter": "12", "length": "100", "width": "50", "slit_length": "300", "opening": "6"},
}


def shape_fields(
    values: Mapping[str, str], units: Units, starts: Mapping[str, str] | None = None
) -> ShapeFields:
    """The fields with what was typed, or with what is offered."""
    unit = FORM_UNIT[units]
    return ShapeFields(
        shapes=tuple(Choice(shape, tr(words), tr(small)) for shape, words, small in SHAPES),
        shape=values.get("shape", ""),
        unit=unit,
        values={name: values.get(name, "") for name in NAMES},
        angles=angle_choices(values.get("angle_deg", ""), values.get("slit_angle", "")),
        sizes=("1/4", "1/2", "1", "2", "4", "6") if unit == "in" else ("6", "12", "25", "50", "100", "150"),
        steps=STEPS[unit],
        starts={**STARTS[unit], **(starts or {})},
    )


def angle_choices(*given: str) -> tuple[tuple[str, str], ...]:
    """The angles to choose from, with those that were given otherwise kept among them."""
    other = set(given) - set(ANGLES) - {""}
    return tuple((value, _angle_words(value)) for value in (*ANGLES, *sorted(other)))


def _angle_words(value: str) -> str:
    if value == "0":
        return tr("level, as the sketch lies")
    if value == "90":
        return tr("up and down")
    return tr("{degrees}° clockwise", degrees=_short(value))


def _short(angle: str) -> str:
    """An angle to the tenth of a degree, to be read; what is no number as it was given."""
    try:
        return f"{float(angle):.1f}".removesuffix(".0")
    except ValueError:
        return angle


def bare_length(nm: int, units: Units, toward: Toward = "nearest") -> str:
    """A length as a field holds it: without its unit, which stands beside the field."""
    return say_length(nm, units, toward).rsplit(" ", 1)[0].replace(",", "")


def offered(outline: Outline, units: Units) -> dict[str, str]:
    """A shape given before, as field values to offer again. A free shape is never the same twice."""

    def bare(nm: int) -> str:
        return bare_length(nm, units)

    match outline:
        case Circle(diameter):
            return {"shape": "circle", "diameter": bare(diameter)}
        case Rectangle(length, width, angle):
            sides = {"length": bare(length), "width": bare(width)}
            return {"shape": "rectangle", **sides, "angle_deg": f"{angle / 1e6:g}"}
        case Slit(length, opening, angle):
            cut = {"slit_length": bare(length), "opening": bare(opening) if opening else ""}
            return {"shape": "slit", **cut, "slit_angle": f"{angle / 1e6:g}"}
        case Polygon():
            return {}


def given_outline(form: Form) -> dict[str, object]:
    """The form's shape in the contract's form; what cannot be read is left to the contract's reader."""
    shape = form.value("shape")
    match shape:
        case "circle":
            return {"shape": shape, "diameter": form.with_unit("diameter")}
        case "rectangle":
            sides = {name: form.with_unit(name) for name in ("length", "width")}
            return {"shape": shape, **sides, "angle_deg": degrees(form.value("angle_deg"))}
        case "slit":
            cut = {"length": form.with_unit("slit_length"), "opening": form.with_unit("opening")}
            return {"shape": shape, **cut, "angle_deg": degrees(form.value("slit_angle"))}
        case "polygon":
            return {"shape": shape, "points": drawn_corners(form) or walked_corners(form)}
    return {"shape": shape}


def degrees(text: str) -> float | str:
    """A number of degrees; what is none is handed on for the reader to refuse."""
    try:
        return float(text or 0)
    except ValueError:
        return text


def drawn_corners(form: Form) -> list[list[str]]:
    """The corners drawn on the pad, as lengths with their unit, about the middle of the shape's box."""
    unit = form.value("pad_unit") or "in"
    try:
        rows = [(float(x), float(y)) for x, y in json.loads(form.value("corners") or "[]")]
    except (ValueError, TypeError, OverflowError, RecursionError):
        return []
    return _about_middle(rows[:500], unit)


def walked_corners(form: Form) -> list[list[str]]:
    """The corners walked side by side from any corner; the last side closes itself.

    What cannot be read is noted on the form.
    """
    try:
        sides = read_sides(form.value("walked"))
    except BadInput as bad:
        form.wrong("walked", bad.message)
        return []
    x = y = 0
    rows = [(0.0, 0.0)]
    for right, down in sides:
        x, y = x + right, y + down
        rows.append((x / NM_PER_MM, y / NM_PER_MM))
    if math.hypot(x, y) < ADD_UP_WITHIN_NM:
        rows.pop()
    return _about_middle(rows, "mm")


def _about_middle(rows: list[tuple[float, float]], unit: str) -> list[list[str]]:
    if not rows:
        return []
    mid_x = (min(x for x, _ in rows) + max(x for x, _ in rows)) / 2
    mid_y = (min(y for _, y in rows) + max(y for _, y in rows)) / 2
    return [[_signed(x - mid_x, unit), _signed(y - mid_y, unit)] for x, y in rows]


def _signed(value: float, unit: str) -> str:
    """`-3.25 in`: a decimal that the reader of lengths takes."""
    return f"{value:.6f} {unit}" if abs(value) >= 5e-7 else "0"


def note_wrong(form: Form, refusal: Refusal) -> None:
    """Note a refusal beside this form's own fields."""
    shape = form.value("shape")
    for name, words in (refusal.fields or {"": refusal.message}).items():
        form.wrong(FIELDS.get((shape, name), FIELDS.get(("", name), name)), words)
