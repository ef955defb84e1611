"""What a layout of sheets is asked with as somebody gives it, read from the contract's forms."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.actions.frame.asked import Asked
from service.domain.nouns.installed import TERMINATION_KINDS
from service.domain.sheets.nouns import STARTS_LEFT, STARTS_RIGHT
from service.domain.words.speech import later, tr

NOT_DESCRIBED = later("not described yet")  # an edge that nobody described, among the kinds of `past`
EDGE_KINDS = (*TERMINATION_KINDS, NOT_DESCRIBED)
STARTS = (STARTS_LEFT, STARTS_RIGHT)
MOST_OPENINGS, MOST_CORNERS = 50, 200
FULL_TURN = 360_000_000

Place = Sequence[float]


@dataclass(frozen=True, slots=True)
class LayoutEntry:
    """As given. `material`: an id, or empty where the roll is typed; None everywhere: not given.

    `direction_udeg` is clockwise on today's picture; `way`: two places of it instead. `past`: by the kind of
    edge. `openings` are rings of places of today's picture.
    """

    material: str
    roll_width_nm: int | None
    roll_length_nm: int | None
    side_lap_nm: int | None
    end_lap_nm: int | None
    direction_udeg: int | None
    way: tuple[Place, Place] | None
    starts: str
    offset_nm: int | None
    past: Mapping[str, int]
    openings: tuple[tuple[Place, ...], ...]


def read_layout(given: Mapping[str, Any]) -> LayoutEntry:
    """BadInput names every field at fault at once: a direction that is not given among them."""
    asked = Asked(given)
    material = asked.text("material", 80)
    width, length = (_roll(asked, name, needed=not material) for name in ("roll_width", "roll_length"))
    side, end = (_maybe(asked, name) for name in ("side_lap", "end_lap"))
    direction, way = _direction(asked)
    starts = given.get("starts") or STARTS_LEFT
    if starts not in STARTS:
        asked.wrong("starts", tr("Placing begins on the left or on the right, looking the way it goes."))
    entry = LayoutEntry(
        material, width, length, side, end, direction, way, str(starts), _maybe(asked, "offset"),
        _past(asked), _openings(asked),
    )  # fmt: skip
    asked.done()
    return entry


def _roll(asked: Asked, name: str, *, needed: bool) -> int | None:
    if not needed and not asked.has(name):
        return None
    told = tr("Choose the film, or write how wide and how long its roll is.")
    return asked.length(name, told) or None


def _maybe(asked: Asked, name: str) -> int | None:
    """A length, or None where it was left out."""
    return asked.distance(name, "") if asked.has(name) else None


def _direction(asked: Asked) -> tuple[int | None, tuple[Place, Place] | None]:
    """Degrees clockwise from "to the right", or the two ends of an arrow."""
    given = asked.given.get("direction")
    if isinstance(given, Mapping):
        ends = given.get("from"), given.get("to")
        if all(_is_place(end) for end in ends):
            return None, (tuple(ends[0]), tuple(ends[1]))  # type: ignore[arg-type]  # two places
        asked.wrong("direction", tr("An arrow has a start and an end: press both on the sketch."))
    elif isinstance(given, int | float) and not isinstance(given, bool) and math.isfinite(given):
        return round(given * 1_000_000) % FULL_TURN, None
    else:
        told = tr("Say which way the concrete will be placed: the sheets lie along it.")
        asked.wrong("direction", told, code="direction-needed")
    return None, None


def _is_place(given: object) -> bool:
    return isinstance(given, list | tuple) and len(given) == 2


def _past(asked: Asked) -> dict[str, int]:
    given = asked.given.get("past") or {}
    if not isinstance(given, Mapping) or any(kind not in EDGE_KINDS for kind in given):
        kinds = ", ".join(tr(kind) for kind in EDGE_KINDS)
        asked.wrong("past", tr("How far film runs past is told by the kind of edge: {kinds}.", kinds=kinds))
        return {}
    inner = Asked(given)
    found = {kind: inner.distance(kind, tr("How far does the film run past?")) for kind in given}
    asked.faults |= {f"past.{kind}": told for kind, told in inner.faults.items()}
    return found


def _openings(asked: Asked) -> tuple[tuple[Place, ...], ...]:
    given = asked.given.get("openings") or ()
    rings = given if isinstance(given, list | tuple) else None
    if rings is None or len(rings) > MOST_OPENINGS:
        told = tr("Openings are a list of outlines, at most {most}.", most=MOST_OPENINGS)
        asked.wrong("openings", told)
        return ()
    for ring in rings:
        corners = len(ring) if isinstance(ring, list | tuple) else 0
        if not 3 <= corners <= MOST_CORNERS or not all(_is_place(corner) for corner in ring):
            asked.wrong("openings", tr("An opening has at least three corners."))
            return ()
    return tuple(tuple(tuple(corner) for corner in ring) for ring in rings)
