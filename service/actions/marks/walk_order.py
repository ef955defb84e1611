"""The walk order of a zone: its open marks and those that reach in, from where somebody stands."""

from __future__ import annotations

from service.actions.frame.reading import ZoneView
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import Defect, Px
from service.domain.patches.repair import NOT_SEALED, OPEN
from service.domain.walk import order
from service.domain.walk.order import Stop, WalkOrder


def to_visit(view: ZoneView) -> list[Defect]:
    """The marks that are open or not sealed, a neighbour's that reach in too."""
    return [
        mark
        for mark in (*view.defects(), *view.reaching_in())
        if view.verdict(mark).state in (OPEN, NOT_SEALED)
    ]


def walk_of(view: ZoneView, start: Px | None) -> WalkOrder | None:
    """The least walking to all of them from `start` (base frame), or, None, from the mark that is best begun
    with. None on a sketch with no scale."""
    asked = _asked(view)
    return None if asked is None else order.walk_order(asked[0], start, *asked[1:])


def least_to_walk(view: ZoneView, start: Px | None) -> int:
    """A length (nm) that no order comes below; 0 on a sketch with no scale."""
    asked = _asked(view)
    return 0 if asked is None else order.least_to_walk(asked[0], start, *asked[1:])


def _asked(view: ZoneView) -> tuple[list[Stop], list[tuple[Px, Px]], float] | None:
    scale = view.seen.sketch.scale
    if scale is None:
        return None
    walls = [
        (wall.a, wall.b)
        for wall in view.site.walls.values()
        if wall.sketch_id == view.seen.sketch.id and wall.withdrawn is None
    ]
    return [Stop(m.id, m.tag, m.at) for m in to_visit(view)], walls, nm_per_px(scale)
