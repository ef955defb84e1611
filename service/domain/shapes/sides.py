"""A patch as the tape measure reads it: four readings, each square to one of its edges."""

from __future__ import annotations

from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Polygon,
    Sides,
    extent_nm,
    into_half_turn,
    sides_and_angle,
    sides_as_rectangle,
    sides_box,
)
from service.domain.words.measures import NM_PER_INCH, Units, say_length
from service.domain.words.speech import later, tr

__all__ = [
    "SIDE_WORDS",
    "Sides",
    "side_angle",
    "sides_as_rectangle",
    "sides_box",
    "sides_from_json",
    "sides_that_fit",
    "sides_to_json",
]

SIDE_WORDS = ("left", "right", "near", "far")
# The sides as people read them.
SIDE_NAMES = {
    "left": later("left"),
    "right": later("right"),
    "near": later("near"),
    "far": later("far"),
}
_CUT = {
    "long": later("{sum} make {made}, but the cut is {size} long."),
    "wide": later("{sum} make {made}, but the cut is {size} wide."),
}
# Readings and a cut size that should add up may differ by this much (1/2 in, the JSON contract's number).
ADD_UP_WITHIN_NM = NM_PER_INCH // 2


def side_angle(damage: Outline, given_udeg: int | None = None) -> int:
    """Direction of `right` in micro-degrees in (-90, 90]: as given, else the damage's long axis, else 0."""
    if given_udeg is not None:
        return into_half_turn(given_udeg)
    if isinstance(damage, Circle | Polygon):
        return 0
    length, width, angle = sides_and_angle(damage)
    return into_half_turn(angle if length >= width else angle + 90_000_000)


def sides_to_json(sides: Sides) -> dict[str, int | None]:
    """The stored form."""
    return {f"{word}_nm": nm for word, nm in sides.readings().items()} | {"angle_udeg": sides.angle_udeg}


def sides_from_json(stored: dict[str, int | None]) -> Sides:
    """The sides of a stored form; KeyError when it is not one."""
    return Sides(
        stored["left_nm"], stored["right_nm"], stored["near_nm"], stored["far_nm"], stored["angle_udeg"] or 0
    )


def sides_that_fit(
    damage: Outline, sides: Sides, cut_length_nm: int, cut_width_nm: int, units: Units = "us"
) -> str | None:
    """None when the readings and the cut size can all be true within 1/2 in; else the mismatch in words.

    The cut's length lies along the sides' angle. With a wall on a side only "too much to fit" can be told.
    """
    u0, u1, v0, v1 = extent_nm(damage, sides.angle_udeg)
    return _mismatch(
        ("left", sides.left_nm), ("right", sides.right_nm), round(u1 - u0), ("long", cut_length_nm), units
    ) or _mismatch(
        ("far", sides.far_nm), ("near", sides.near_nm), round(v1 - v0), ("wide", cut_width_nm), units
    )


def _mismatch(
    one: tuple[str, int | None],
    other: tuple[str, int | None],
    damage_nm: int,
    cut: tuple[str, int],
    units: Units,
) -> str | None:
    read = [(word, nm) for word, nm in (one, other) if nm is not None]
    total = damage_nm + sum(nm for _, nm in read)
    past = total - cut[1] if len(read) < 2 else abs(total - cut[1])
    if past <= ADD_UP_WITHIN_NM:
        return None
    parts = [
        tr("{side} {length}", side=tr(SIDE_NAMES[word]), length=say_length(nm, units)) for word, nm in read
    ]
    parts.insert(1, tr("damage {length}", length=say_length(damage_nm, units)))
    made, size = say_length(total, units), say_length(cut[1], units)
    return tr(_CUT[cut[0]], sum=" + ".join(parts), made=made, size=size)
