"""The closeout on paper: the same facts, with every zone drawn true to scale."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.actions.closeout.closeout import closeout_of, read_for_closeout
from service.actions.frame.desk import Desk
from service.domain.gate.site_parts import SiteParts
from service.domain.nouns.site import Site
from service.history.closeout.whole import Closeout
from service.history.facts.entries import Entry
from service.history.replay.replay import replay
from service.papers.closeout import closeout_pdf
from service.papers.drawing.scale_drawing import ScaleDrawing, draw_to_scale
from service.storage.history.seen import SeenProject

TALLEST_MM = 140.0  # of a zone's drawing: it stands on one page with the zone's title block

MOST_DRAWN = 200  # marks of a zone whose drawing the page waits for; the paper draws every zone


@dataclass(frozen=True, slots=True)
class Paper:
    """A PDF with the name it is handed out under."""

    name: str
    content: bytes


def drawings_of(site: Site, told: Closeout, most: int | None = None) -> dict[str, ScaleDrawing]:
    """Every zone drawn true to scale, by its id; without those whose sketch has no scale, and those with more
    marks than `most`. Each from the part that decides about it: of the whole site, zones times marks."""
    zones, parts = [zone for zone in told.zones if most is None or len(zone.marks) <= most], SiteParts(site)
    drawn = ((zone.id, draw_to_scale(parts.of(zone.id), zone.id, height_mm=TALLEST_MM)) for zone in zones)
    return {zone: drawing for zone, drawing in drawn if drawing is not None}


def paper_of(site: Site, entries: Sequence[Entry], names: Mapping[str, str], *, key: str = "") -> bytes:
    """The paper of a site told from exactly these entries, as `closeout_of` tells them."""
    told = closeout_of(site, entries, names, key=key)
    return closeout_pdf(told, drawings_of(site, told))


@dataclass(frozen=True, slots=True)
class CloseoutView:
    """The closeout as one person sees it; `drawings` by the zone's id, of zones with few marks."""

    seen: SeenProject
    told: Closeout
    drawings: Mapping[str, ScaleDrawing]


def closeout_view(desk: Desk, by: str, project_id: str) -> CloseoutView:
    """The closeout as the history stands now, for a page that comes at once however many marks there are."""
    read = read_for_closeout(desk, by, project_id)
    site = replay(read.entries)
    told = closeout_of(site, read.entries, read.names, key=read.key)
    return CloseoutView(read.seen, told, drawings_of(site, told, MOST_DRAWN))


def closeout_paper(desk: Desk, by: str, project_id: str) -> Paper:
    """The paper as the history stands now."""
    read = read_for_closeout(desk, by, project_id)
    content = paper_of(replay(read.entries), read.entries, read.names, key=read.key)
    plain = re.sub(r"[^A-Za-z0-9-]", "-", project_id)
    return Paper(f"closeout-{plain}-{len(read.entries)}.pdf", content)
