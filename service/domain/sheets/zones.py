"""Which zones a planned sheet lies in."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from service.domain.nouns.placing import PlannedSheet
from service.domain.nouns.site import Zone


def zones_under(sheet: PlannedSheet, zones: Sequence[Zone]) -> tuple[str, ...]:
    """The ids of the zones a sheet reaches into, the one with most of it first; the first zone where it
    touches none (it lies past their edges)."""
    area = shapely.Polygon(sheet.corners)
    shared = [(shapely.intersection(area, shapely.Polygon(zone.outline)).area, zone.id) for zone in zones]
    found = [(-size, zone) for size, zone in shared if size > 0]
    return tuple(zone for _, zone in sorted(found, key=lambda one: one[0])) or (zones[0].id,)
