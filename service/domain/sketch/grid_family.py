"""Parallel grid lines from the first one: evenly spaced, labelled on, cut off at the picture's edge."""

from __future__ import annotations

import math
import re

from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr, trn

Point = tuple[float, float]
MOST_IN_FAMILY = 60
# Letters that are easily read as figures are left out of grids (common practice, no source).
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
SIDES = {"right": (1, 0), "left": (-1, 0), "down": (0, 1), "up": (0, -1)}
_NO_FURTHER = {
    "right": later("The line itself runs that way, so no line lies further right. Choose another side."),
    "left": later("The line itself runs that way, so no line lies further left. Choose another side."),
    "down": later("The line itself runs that way, so no line lies further down. Choose another side."),
    "up": later("The line itself runs that way, so no line lies further up. Choose another side."),
}


def label_after(label: str) -> str:
    """The next label: `C` after `B`, `J` after `H`, `AA` after `Z`, `5` after `4`, `B.3` after `B.2`."""
    number = re.fullmatch(r"(.*?)([0-9]+)", label)
    if number:
        return f"{number[1]}{int(number[2]) + 1}"
    head, last = label[:-1], label[-1:].upper()
    if last not in _LETTERS or not last:
        told = tr("No label follows {label}.", label=label)
        raise BadInput(told, fields={"label": told})
    if last != "Z":
        return head + _LETTERS[_LETTERS.index(last) + 1]
    return (label_after(head) if head else "A") + "A"


def family(
    label: str, line: tuple[Point, Point], spacing_px: float, more: int, toward: str, width: int, height: int
) -> list[tuple[str, Point, Point]]:
    """The first line and `more` lines beside it, each with its label, in pixels of a picture of this size.

    toward: right, left, up or down, as seen on the picture. BadInput where a line would lie off the picture.
    """
    if not 0 <= more <= MOST_IN_FAMILY:
        told = trn("At most {n} line is laid at once.", "At most {n} lines are laid at once.", MOST_IN_FAMILY)
        raise BadInput(told, fields={"more": told})
    (ax, ay), (bx, by) = line
    far = math.hypot(bx - ax, by - ay)
    across = (-(by - ay) / far, (bx - ax) / far) if far else (0.0, 0.0)
    lean = across[0] * SIDES[toward][0] + across[1] * SIDES[toward][1]
    if more and abs(lean) < 0.01:
        told = tr(_NO_FURTHER[toward])
        raise BadInput(told, fields={"toward": told})
    step = spacing_px if lean > 0 else -spacing_px
    laid = []
    for n in range(more + 1):
        dx, dy = across[0] * step * n, across[1] * step * n
        kept = _within((ax + dx, ay + dy), (bx + dx, by + dy), width, height)
        if kept is None:
            told = tr(
                "Line {label} would lie off the picture. Check the spacing and the number of lines.",
                label=label,
            )
            raise BadInput(told, fields={"spacing": told})
        laid.append((label, *kept))
        if n < more:
            label = label_after(label)
    return laid


def _within(a: Point, b: Point, width: int, height: int) -> tuple[Point, Point] | None:
    """The part of a line that lies on the picture (Liang and Barsky's clipping, from memory), or None."""
    (x, y), (dx, dy) = a, (b[0] - a[0], b[1] - a[1])
    first, last = 0.0, 1.0
    for along, room in ((-dx, x), (dx, width - x), (-dy, y), (dy, height - y)):
        if along == 0:
            if room < 0:
                return None
        elif along < 0:
            first = max(first, room / along)
        else:
            last = min(last, room / along)
    if last - first <= 0:
        return None
    ends = ((x + dx * t, y + dy * t) for t in (first, last))
    (px, py), (qx, qy) = ((min(max(u, 0.0), width), min(max(v, 0.0), height)) for u, v in ends)
    return (px, py), (qx, qy)
