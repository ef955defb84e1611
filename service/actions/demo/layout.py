"""The demo's layouts of sheets: each zone's film planned before it came, and which sheets lie."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.demo.story import Story
from service.actions.film.layout_keeping import keep_zone_layout
from service.actions.film.sheets_laid import log_sheets
from service.domain.nouns.installed import Lot, Seam
from service.domain.nouns.placing import Layout
from service.domain.nouns.site import Zone


def plan(story: Story, zone: Zone, film: Lot, first_ft: int) -> tuple[Layout, tuple[Seam, ...]]:
    """The crew lead lays out rolls along the slab, placed from the west; the first seam so many feet south of
    the zone's north side."""
    asked = {"material": film.material_id, "direction": 0, "starts": "left", "offset": f"{15 - first_ft} ft"}
    kept = keep_zone_layout(story.desk, story.lead.id, zone.id, asked)
    return kept.layout, kept.seams


def lay(story: Story, layout: Layout, lot: Lot, sheets: Sequence[int] = (), note: str = "") -> None:
    """These sheets were laid off the lot; all of them, unless told which."""
    numbers = sheets or [sheet.number for sheet in layout.sheets]
    log_sheets(story.desk, story.lead.id, layout.id, numbers, lot.id, note)
