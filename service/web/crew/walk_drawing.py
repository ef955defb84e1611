"""The walk over a zone's drawing: the way from stop to stop, where it begins, the next leg heavy."""

from __future__ import annotations

from dataclasses import replace

from service.actions.frame.reading import ZoneView
from service.domain.nouns.site import Px
from service.domain.walk.order import Visit, WalkOrder
from service.web.drawings.drawing import WalkDrawing, ZoneDrawing
from service.web.drawings.frame import Frame, frame_of
from service.web.drawings.paths import line
from service.web.drawings.shown import Shown
from service.web.shared.crew_words import zone_drawing


def walk_drawing(view: ZoneView, shown: Shown, found: WalkOrder, at: int) -> ZoneDrawing | None:
    """The zone with the walk on it; `at`: which visit is next, from 1. None with no scale."""
    drawn = zone_drawing(view, shown)
    if drawn is None or not found.visits:
        return drawn
    frame = frame_of(shown.ring(view.zone.outline), shown.nm_per_px)
    start = found.start if found.start is not None else found.visits[0].stop.at
    x, y = frame.point(shown.point(start))
    rest = [visit for k, visit in enumerate(found.visits, 1) if k != at]
    return replace(
        drawn,
        walk=WalkDrawing(
            path="".join(_leg(visit, frame, shown) for visit in rest),
            next=_leg(found.visits[at - 1], frame, shown),
            x=round(x, 1),
            y=round(y, 1),
        ),
    )


def _leg(visit: Visit, frame: Frame, shown: Shown) -> str:
    spots: list[Px] = [shown.point(spot) for spot in visit.way]
    return line([frame.point(spot) for spot in spots], closed=False) if len(spots) > 1 else ""
