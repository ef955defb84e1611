"""A layout of sheets printed at a stated scale, for whoever lays them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from service.actions.closeout.paper import Paper
from service.actions.film.layout_ground import Ground, ground_of_layout
from service.actions.frame.desk import Desk
from service.domain.nouns.placing import Layout, PlannedSheet
from service.domain.sheets.words import CAUTIONS, direction_words, order_words
from service.domain.sketch.where import where_words
from service.domain.words.measures import say_area, say_length, say_run
from service.domain.words.speech import spoken, tr
from service.papers.sheet_layout import LayoutSheet, SheetsToDraw, layout_pdf

MM2_PER_M2 = 1_000_000


def layout_paper(desk: Desk, by: str, layout_id: str) -> Paper:
    """The paper of a layout as it was kept, in the language being spoken."""
    ground, layout = ground_of_layout(desk, by, layout_id)
    project = ground.seen.project
    letters = [ground.site.zones[zone].letter for zone in layout.zone_ids]
    content = layout_pdf(
        _words(ground, layout, letters),
        sheets_to_draw(ground, layout),
        project.name,
        layout.signed.at,
        spoken().code,
    )
    plain = re.sub(r"[^A-Za-z0-9-]", "-", "-".join(letters))
    return Paper(f"sheets-{plain}.pdf", content)


def sheets_to_draw(ground: Ground, layout: Layout) -> SheetsToDraw:
    """The sheets of a kept layout, with the seams that stand in its zones."""
    units, site = ground.seen.project.units, ground.site
    seams = [s for s in site.seams.values() if s.zone_id in layout.zone_ids and s.withdrawn is None]
    return SheetsToDraw(
        ground.seen.sketch,
        units,
        [(site.zones[zone].letter, site.zones[zone].outline) for zone in layout.zone_ids],
        layout.sheets,
        {sheet.number: say_run(sheet.cut_length_nm, units) for sheet in layout.sheets},
        [(seam.kind, (a, b)) for seam in seams for a, b in pairwise(seam.path)],
        layout.openings,
        layout.direction_udeg,
        layout.starts,
    )


def _words(ground: Ground, layout: Layout, letters: Sequence[str]) -> LayoutSheet:
    units, site = ground.seen.project.units, ground.site
    title = tr("Sheets of zones {letters}", letters=", ".join(letters))
    if len(letters) == 1:
        title = tr("Sheets of zone {letter}", letter=letters[0])
    film = site.materials[layout.material_id].name if layout.material_id in site.materials else ""
    width, length = (say_run(nm, units) for nm in (layout.roll_width_nm, layout.roll_length_nm))
    laps = {"side": say_length(layout.side_lap_nm, units), "end": say_length(layout.end_lap_nm, units)}
    facts = (
        (tr("Project"), ground.seen.project.name),
        (tr("Roll"), ", ".join(filter(None, (tr("{width} by {length}", width=width, length=length), film)))),
        (tr("Film"), say_area(layout.film_mm2 / MM2_PER_M2, units)),
        (tr("Laps"), tr("{side} along, {end} across", **laps)),
        (tr("Concrete goes"), direction_words(ground.direction_shown(layout.direction_udeg))),
    )
    return LayoutSheet(
        title=title,
        facts=facts,
        order=order_words(layout.starts),
        heads=(tr("Sheet"), tr("Cut length"), tr("Width"), tr("Row"), tr("Its middle at")),
        rows=tuple(_row(ground, sheet) for sheet in layout.sheets),
        cautions=tuple(tr(words) for words in CAUTIONS),
        heed=tr("Take care"),
    )


def _row(ground: Ground, sheet: PlannedSheet) -> tuple[str, ...]:
    units = ground.seen.project.units
    x, y = (round(sum(at[axis] for at in sheet.corners) / 4) for axis in (0, 1))
    where = where_words(ground.seen.sketch, (x, y), units)
    cut, wide = say_run(sheet.cut_length_nm, units), say_run(sheet.width_nm, units)
    return str(sheet.number), cut, wide, str(sheet.row + 1), where
