"""The seams of a layout on the punch list: drawn with it, and taken back with it where nobody walked them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from service.actions.film.layout_ground import Ground
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record
from service.domain.nouns.installed import Seam
from service.domain.nouns.placing import Layout
from service.domain.nouns.site import Px, Zone
from service.domain.sheets.layout import LaidSeam
from service.domain.sheets.seam_pieces import in_zones, lap_lines, to_ground, to_px
from service.history.facts.installed import SeamDrawn, SeamWithdrawn
from service.history.facts.placing import LayoutWithdrawn


@dataclass(frozen=True, slots=True)
class SeamToDraw:
    """A seam of a layout, whole within one zone."""

    zone_id: str
    kind: str
    path: tuple[Px, Px]


def seams_of(laid: Sequence[LaidSeam], zones: Sequence[Zone], per_px: float) -> tuple[SeamToDraw, ...]:
    """The laps of a layout as seams, each cut where it leaves a zone."""
    rings = [[to_ground(corner, per_px) for corner in zone.outline] for zone in zones]
    found = []
    for kind, path in lap_lines(laid):
        for home, start, end in in_zones(path, rings):
            a, b = to_px(start, per_px), to_px(end, per_px)
            if a != b:
                found.append(SeamToDraw(zones[home].id, kind, (a, b)))
    return tuple(found)


def draw_layout_seams(
    desk: Desk, session: Session, ground: Ground, by: str, wanted: Sequence[SeamToDraw]
) -> tuple[Seam, ...]:
    """The seams put on the punch list in the open transaction, each with its tag."""
    site, drawn = ground.site, []
    for seam in wanted:
        home = site.zones[seam.zone_id]
        tag = f"{home.letter}-S{home.seams + 1:02d}"
        fact = SeamDrawn(desk.new_id(), ground.seen.sketch.id, home.id, tag, seam.kind, seam.path, "")
        record(desk, session, site, by, ground.seen.role, fact)
        drawn.append(site.seams[fact.seam])
    return tuple(drawn)


def take_back_layouts(
    desk: Desk, session: Session, ground: Ground, by: str, layouts: Sequence[Layout], reason: str
) -> tuple[Seam, ...]:
    """These layouts withdrawn in the open transaction, and their seams that nobody walked. What is told: the
    seams that stay because somebody did."""
    site, stayed = ground.site, []
    for layout in layouts:
        letters = tuple(site.zones[zone].letter for zone in layout.zone_ids)
        record(desk, session, site, by, ground.seen.role, LayoutWithdrawn(layout.id, letters, reason))
        for seam in seams_standing_of(ground, layout):
            if seam.walk is not None:
                stayed.append(seam)
                continue
            fact = SeamWithdrawn(seam.id, seam.zone_id, seam.tag, reason)
            record(desk, session, site, by, ground.seen.role, fact)
    return tuple(stayed)


def seams_standing_of(ground: Ground, layout: Layout) -> list[Seam]:
    """The seams that a layout put on the punch list and that stand."""
    found = (ground.site.seams.get(seam) for seam in layout.seams)
    return [seam for seam in found if seam is not None and seam.withdrawn is None]
