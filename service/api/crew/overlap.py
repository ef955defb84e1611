"""The overlap of shapes that belong to no project, as JSON: computed and told, nothing stored."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from service.api.answers import marks as out
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, SignedRoute, Writes
from service.api.shared.errors import told
from service.api.telling import marks as tell
from service.api.telling.telling import length, maybe_length
from service.domain.patches.overlap import MOST_CORNERS, Piece, judge, too_many_corners
from service.domain.shapes.outline_texts import BadOutline, read_offset, read_outline
from service.domain.shapes.outlines import Outline
from service.domain.words.measures import BadLength, Units, metres, parse_length
from service.domain.words.refusals import BadInput

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["overlap"])


@router.post("/overlap", response_model=out.Judged, responses=told((401, 403, 408, 409, 413, 422, 503)))
def overlap(body: bodies.OverlapAsked, call: Writes) -> Response:
    """How far patches reach past damage, the least over all directions, against a minimum. Texts come in the
    units the minimum was written in. Only an Idempotency-Key, if one is given, keeps the reply."""
    return call.once_prepared(200, lambda: _judged(body), lambda found: found)


def _judged(asked: bodies.OverlapAsked) -> out.Judged:
    minimum, units = _minimum(asked.minimum)
    damage = _outline(asked.damage, "damage")
    pieces = [
        Piece(_outline(shape, f"patches.{i}"), _offset(shape, f"patches.{i}"))
        for i, shape in enumerate(asked.patches)
    ]
    if too_many_corners(damage, pieces):
        told = f"At most {MOST_CORNERS:,} corners in all."
        raise BadInput(told, fields={"patches": told}, code="too-many-points")
    found = judge(damage, pieces, minimum)
    nearest = found.nearest
    return out.Judged(
        overlap=maybe_length(found.overlap_nm, units, "down"),
        meets=found.meets,
        short_by=length(found.short_by_nm, units, "up"),
        nearest=None if nearest is None else [metres(nearest[0]), metres(nearest[1])],
        cut_size=tell.least(damage, minimum, units),
    )


def _minimum(text: str) -> tuple[int, Units]:
    """The minimum, and the units to answer in: the metric ones, and only they, end in an m."""
    try:
        minimum = parse_length(text)
    except BadLength as bad:
        raise BadInput(str(bad), fields={"minimum": str(bad)}, code=bad.code) from None
    return minimum, "metric" if text.strip(" .").lower().endswith("m") else "us"


def _outline(shape: bodies.Outline | bodies.PatchOutline, place: str) -> Outline:
    try:
        return read_outline(bodies.given(shape))
    except BadOutline as bad:
        raise _at(place, bad) from None


def _offset(shape: bodies.PatchOutline, place: str) -> tuple[int, int]:
    try:
        return read_offset(shape.offset)
    except BadOutline as bad:
        raise _at(place, bad) from None


def _at(place: str, bad: BadOutline) -> BadInput:
    return BadInput(
        str(bad), fields={f"{place}.{bad.field}" if bad.field else place: str(bad)}, code=bad.code
    )
