"""A site cut for each of its zones: with no other marks and patches than may decide about that zone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from service.domain.gate.zone_facts import BESIDE_NM, MILLI, nm_per_px
from service.domain.nouns.site import Defect, Site, Zone
from service.domain.shapes.nearby import Floats
from service.domain.shapes.outlines import reach_nm


@dataclass(frozen=True, slots=True)
class _Marks:
    """The marks of one sketch, and beside them how far to the left, the top, the right and the bottom each
    or its patches' tape may reach, in thousandths of a pixel."""

    ids: tuple[str, ...]
    sides: Floats

    def near(self, zone: Zone) -> list[str]:
        xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
        left, top, right, bottom = self.sides.T
        meets = (left <= max(xs)) & (right >= min(xs)) & (top <= max(ys)) & (bottom >= min(ys))
        return [self.ids[i] for i in np.flatnonzero(meets)]


class SiteParts:
    """Every answer about a zone is the same of its part as of the whole site, and none waits for the rest:
    asking every zone of the whole site costs zones times marks."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._own: Mapping[str, list[str]] = _by(site.defects.values(), lambda mark: mark.zone_id)
        self._marks = {
            sketch_id: _marks([site.defects[mark] for mark in marks], nm_per_px(scale))
            for sketch_id, marks in _by(site.defects.values(), lambda mark: mark.sketch_id).items()
            if (scale := site.sketches[sketch_id].scale) is not None
        }
        self._laid: dict[str, list[str]] = defaultdict(list)  # the patches ever laid on a mark
        for patch in site.patches.values():
            for mark_id in dict.fromkeys((patch.defect_id, *patch.also)):
                self._laid[mark_id].append(patch.id)

    def of(self, zone_id: str) -> Site:
        """The part that decides about this zone. KeyError when the site does not hold it."""
        site, zone = self._site, self._site.zones[zone_id]
        marks = dict.fromkeys(self._own.get(zone_id, ()))
        if zone.sketch_id in self._marks:
            marks |= dict.fromkeys(self._marks[zone.sketch_id].near(zone))
        patches = {id: site.patches[id] for mark in marks for id in self._laid.get(mark, ())}
        marks |= dict.fromkeys(patch.defect_id for patch in patches.values())
        return replace(site, defects={id: site.defects[id] for id in marks}, patches=patches)


def _by(marks: Iterable[Defect], key: Callable[[Defect], str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for mark in marks:
        found[key(mark)].append(mark.id)
    return found


def _marks(marks: Sequence[Defect], per_px: float) -> _Marks:
    """As `zone_facts.may_reach` with what may lie beside, and a pixel or two to spare."""
    far = np.array([reach_nm(mark.outline) + BESIDE_NM for mark in marks]) / per_px * MILLI + 3 * MILLI
    x, y = np.array([mark.at for mark in marks], dtype=float).T
    return _Marks(tuple(mark.id for mark in marks), np.stack((x - far, y - far, x + far, y + far), axis=1))
