"""Outlines as people write and read them: the JSON texts in and out, and the words for a shape."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import shapely

from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Point,
    Polygon,
    Rectangle,
    Sides,
    Slit,
    least_rectangle,
)
from service.domain.shapes.sides import SIDE_WORDS, side_angle
from service.domain.words.measures import (
    NM_PER_M,
    BadLength,
    Units,
    length_json,
    parse_length,
    say_length,
    say_run,
    say_sides,
    turn,
)
from service.domain.words.speech import tr, trn

WIDEST_NM = 200 * NM_PER_M
MOST_POINTS = 500


class BadOutline(ValueError):
    """An outline that cannot be read: `code` and `field` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str, field: str) -> None:
        super().__init__(sentence)
        self.code = code
        self.field = field


def read_outline(given: object) -> Outline:
    """The outline of an API form (lengths as text with units); raises BadOutline only."""
    if not isinstance(given, Mapping):
        raise BadOutline("not-an-outline", tr("An outline names its shape and its sizes."), "shape")
    angle = read_angle(given.get("angle_deg"))
    match given.get("shape"):
        case "circle":
            return Circle(_size(given, "diameter"))
        case "rectangle":
            return Rectangle(_size(given, "length"), _size(given, "width"), angle)
        case "slit":
            opening = _size(given, "opening", zero_ok=True) if given.get("opening") not in (None, "") else 0
            return Slit(_size(given, "length"), opening, angle)
        case "polygon":
            return _polygon(given.get("points"), angle)
    told = tr("A shape is a circle, a rectangle, a slit or a polygon.")
    raise BadOutline("no-such-shape", told, "shape")


def read_angle(given: object, field: str = "angle_deg") -> int:
    """Micro-degrees from a number of degrees (None is 0), brought into [0, 360); raises BadOutline only."""
    if given is None:
        return 0
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise BadOutline("bad-angle", tr("An angle is a number of degrees."), field)
    if (isinstance(given, float) and not math.isfinite(given)) or abs(given) > 1_000_000:
        raise BadOutline("bad-angle", tr("An angle is a number of degrees, like 30."), field)
    return round(given * 1_000_000) % 360_000_000


def read_offset(given: object, field: str = "offset") -> Point:
    """(x, y) nanometres from two lengths, a minus in front allowed (None is (0, 0)); BadOutline only."""
    if given is None:
        return (0, 0)
    return _point(given, field)


def read_sides(given: object, damage: Outline) -> Sides:
    """Sides from {"left", "right", "near", "far"} as lengths or "wall", and "angle_deg"; BadOutline only."""
    if not isinstance(given, Mapping):
        told = tr("Give the four readings: left, right, near and far.")
        raise BadOutline("not-sides", told, "sides")
    angle = None if given.get("angle_deg") is None else read_angle(given["angle_deg"])
    read = [None if given.get(word) == "wall" else _size(given, word, zero_ok=True) for word in SIDE_WORDS]
    if all(nm is None for nm in read):
        told = tr("A patch cannot be sealed to a wall on all four sides.")
        raise BadOutline("all-walls", told, "sides")
    left, right, near, far = read
    return Sides(left, right, near, far, side_angle(damage, angle))


def _size(given: Mapping[str, Any], field: str, *, zero_ok: bool = False) -> int:
    try:
        nm = parse_length(given.get(field) or "", zero_ok=zero_ok)
    except BadLength as bad:
        raise BadOutline(bad.code, str(bad), field) from bad
    if nm > WIDEST_NM:
        told = tr("That is more than 200 m across; check the number and its unit.")
        raise BadOutline("too-big", told, field)
    return nm


def _point(given: object, field: str) -> Point:
    if not isinstance(given, list | tuple) or len(given) != 2:
        told = tr("A point is two lengths, like {like}.", like='["3 in", "-1 in"]')
        raise BadOutline("bad-point", told, field)
    return _signed(given[0], field), _signed(given[1], field)


def _signed(text: object, field: str) -> int:
    """A length left or up of the centre has a minus sign; 0 needs no unit."""
    if isinstance(text, int | float) and not isinstance(text, bool) and text == 0:
        return 0
    plain = text.strip() if isinstance(text, str) else ""
    minus = plain[:1] in ("-", "−")
    if plain.lstrip("-−") == "0":
        return 0
    nm = _size({field: plain[1:].lstrip() if minus else plain}, field, zero_ok=True)
    return -nm if minus else nm


def _polygon(given: object, angle_udeg: int) -> Polygon:
    if not isinstance(given, list | tuple):
        raise BadOutline("bad-point", tr("A polygon lists its points."), "points")
    if len(given) > MOST_POINTS:
        told = trn("A shape has at most {n} corner.", "A shape has at most {n} corners.", MOST_POINTS)
        raise BadOutline("too-many-points", told, "points")
    points = [_point(p, "points") for p in given]
    if angle_udeg:
        c, s = turn(angle_udeg)
        points = [(round(x * c - y * s), round(x * s + y * c)) for x, y in points]
    return checked_polygon(points)


def checked_polygon(points: list[Point]) -> Polygon:
    """The polygon of these corners, repeats dropped; BadOutline when it has no area or crosses itself."""
    ring = [p for i, p in enumerate(points) if p != points[i - 1] or len(points) == 1]
    if len(set(ring)) < 3:
        told = tr("A shape needs at least three different corners.")
        raise BadOutline("too-few-points", told, "points")
    twice = sum(ring[i - 1][0] * y - x * ring[i - 1][1] for i, (x, y) in enumerate(ring))
    if not shapely.is_valid(shape := shapely.Polygon(ring)) and shape.convex_hull.area > 0:
        raise BadOutline("crosses-itself", tr("The shape's outline crosses itself."), "points")
    if twice == 0:
        told = tr("The shape has no area: its corners lie on one line.")
        raise BadOutline("no-area", told, "points")
    return Polygon(tuple(ring))


def say_outline_json(outline: Outline, units: Units) -> dict[str, Any]:
    """The API's output form: the input's keys, each length as {"text", "m"}."""
    match outline:
        case Circle(diameter):
            return {"shape": "circle", "diameter": length_json(diameter, units)}
        case Rectangle(length, width, angle):
            sides = {"length": length_json(length, units), "width": length_json(width, units)}
            return {"shape": "rectangle", **sides, "angle_deg": angle / 1_000_000}
        case Slit(length, opening, angle):
            sides = {"length": length_json(length, units), "opening": length_json(opening, units)}
            return {"shape": "slit", **sides, "angle_deg": angle / 1_000_000}
        case Polygon(points):
            return {
                "shape": "polygon",
                "points": [[length_json(x, units), length_json(y, units)] for x, y in points],
            }


def say_outline(outline: Outline, units: Units) -> str:
    """In words: `1/2 in across`, `4 by 2 in`, `30 in long, 1/4 in open`, `shape of 5 corners, 12 by 8 in`."""
    match outline:
        case Circle(diameter):
            return tr("{diameter} across", diameter=say_length(diameter, units))
        case Rectangle(length, width, _):
            return say_sides(length, width, units)
        case Slit(length, 0, _):
            return tr("{length} long, closed", length=say_run(length, units))
        case Slit(length, opening, _):
            return tr(
                "{length} long, {opening} open",
                length=say_run(length, units),
                opening=say_length(opening, units),
            )
        case Polygon(points):
            length, width, _ = least_rectangle(outline)
            return trn(
                "shape of {n} corner, {size}",
                "shape of {n} corners, {size}",
                len(points),
                size=say_sides(length, width, units),
            )
