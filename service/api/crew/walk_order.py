"""The walk order of a zone, as JSON: its open marks as they are visited with the least walking."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.actions.frame.reading import ZoneView, zone_view
from service.actions.marks import walk_order as walk
from service.api.answers.sites import Answer, Length, Place
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute
from service.api.shared.errors import READS, told
from service.domain.nouns.site import Px
from service.domain.sketch.places import from_base, to_base
from service.domain.words.measures import NM_PER_M, Units, say_distance
from service.domain.words.refusals import BadInput, NoScale

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["walk-order"])

From = Annotated[
    str,
    Query(
        alias="from",
        max_length=60,
        description="Where somebody stands: `x,y` in pixels of the present picture. Left out: the order "
        "begins at the mark from which the rest is least to walk.",
        examples=["1200.5,800"],
    ),
]


class VisitTold(Answer):
    """A mark in its turn: `leg` from the one before, `distance` from the start, both walked round walls."""

    id: str
    tag: str
    at: Place
    distance: Length
    leg: Length


class BeyondTold(Answer):
    """A mark to which the walls on the sketch leave no way."""

    id: str
    tag: str
    at: Place


class WalkTold(Answer):
    """`exact`: no order is less to walk. `bound`: a length that no order comes below."""

    start: Place | None
    order: list[VisitTold]
    closed_off: list[BeyondTold]
    length: Length
    exact: bool
    bound: Length


@router.get("/zones/{zone_id}/walk-order", responses=told((*READS, 409, 422)))
def walk_order(zone_id: Id, call: Reads, stands: From = "") -> WalkTold:
    """Every mark of the zone that is open or not sealed, a neighbour's that reach in too."""
    view = zone_view(call.desk, call.by, zone_id)
    start = _place(view, stands) if stands else None
    found = walk.walk_of(view, start)
    if found is None:
        raise NoScale
    units, sketch = view.seen.project.units, view.seen.sketch
    return WalkTold(
        start=None if start is None else list(from_base(sketch, start)),
        order=[
            VisitTold(
                id=visit.stop.id,
                tag=visit.stop.tag,
                at=list(from_base(sketch, visit.stop.at)),
                distance=_far(visit.along_nm, units),
                leg=_far(visit.leg_nm, units),
            )
            for visit in found.visits
        ],
        closed_off=[
            BeyondTold(id=stop.id, tag=stop.tag, at=list(from_base(sketch, stop.at))) for stop in found.beyond
        ],
        length=_far(found.length_nm, units),
        exact=found.exact,
        bound=_far(walk.least_to_walk(view, start), units),
    )


def _far(nm: int, units: Units) -> Length:
    """A distance as it is walked: in feet and inches, or metres."""
    return Length(text=say_distance(nm, units), m=nm / NM_PER_M)


def _place(view: ZoneView, text: str) -> Px:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        raise BadInput(
            "`from` is two numbers: pixels from the left and from the top.", fields={"from": "No place."}
        ) from None
    return to_base(view.seen.sketch, (x, y), "from")
