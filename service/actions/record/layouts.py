"""Layouts of sheets as tables for the record: as they were kept, and each sheet with when it was laid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.actions.frame.cells import Cell, px, table, time
from service.domain.nouns.installed import Signed
from service.domain.nouns.placing import Layout, SheetsLaying
from service.domain.nouns.site import Site
from service.domain.words.measures import Units, say_run

SIGNED = ("by", "role", "at")


def layout_tables(site: Site, units: Units) -> dict[str, str]:
    """File name to CSV text. `seams` are ids of seams.csv; withdrawn layouts and layings too."""
    return {"layouts.csv": _layouts(site, units), "sheets.csv": _sheets(site, units)}


def _signed(signed: Signed) -> Sequence[Cell]:
    return signed.by, signed.role, time(signed.at)


def _layouts(site: Site, units: Units) -> str:
    head = (
        "id", "zones", "letters", "material", "roll_width", "roll_length", "side_lap", "end_lap",
        "direction_deg", "placing_begins", "first_edge_outside", "by_hand", "sheets", "film_mm2", "seam_nm",
        "past_edges", "openings_px", "seams", *SIGNED, "withdrawn",
    )  # fmt: skip
    return table(head, (_layout(site, one, units) for one in site.layouts.values()))


def _layout(site: Site, of: Layout, units: Units) -> Sequence[Cell]:
    letters = " ".join(site.zones[zone].letter for zone in of.zone_ids)
    past = "; ".join(f"{px(run.a)} to {px(run.b)}: {say_run(run.past_nm, units)}" for run in of.past)
    openings = " | ".join("; ".join(map(px, ring)) for ring in of.openings)
    return (
        of.id, " ".join(of.zone_ids), letters, of.material_id, say_run(of.roll_width_nm, units),
        say_run(of.roll_length_nm, units), say_run(of.side_lap_nm, units), say_run(of.end_lap_nm, units),
        f"{of.direction_udeg / 1_000_000:g}", of.starts, say_run(of.offset_nm, units), of.by_hand,
        len(of.sheets), of.film_mm2, of.seam_nm, past, openings, " ".join(of.seams), *_signed(of.signed),
        of.withdrawn,
    )  # fmt: skip


def _sheets(site: Site, units: Units) -> str:
    """A row a sheet that is not laid, and one for every time it was logged as laid."""
    head = (
        "layout", "number", "row", "corners_px", "cut_length", "cut_length_nm", "width_nm", "laying", "zone",
        "lot", "lot_number", "note", *SIGNED, "withdrawn",
    )  # fmt: skip
    return table(head, (row for one in site.layouts.values() for row in _sheet_rows(site, one, units)))


def _sheet_rows(site: Site, of: Layout, units: Units) -> Iterator[Sequence[Cell]]:
    for sheet in of.sheets:
        corners = "; ".join(map(px, sheet.corners))
        cut = say_run(sheet.cut_length_nm, units)
        told = (of.id, sheet.number, sheet.row + 1, corners, cut, sheet.cut_length_nm, sheet.width_nm)
        laid = [laying for laying in of.laid if sheet.number in laying.sheets]
        if not laid:
            yield (*told, *("",) * (5 + len(SIGNED)), "")
        yield from ((*told, *_laid(site, laying)) for laying in laid)


def _laid(site: Site, of: SheetsLaying) -> Sequence[Cell]:
    number = site.lots[of.lot_id].number
    return of.id, of.zone_id, of.lot_id, number, of.note, *_signed(of.signed), of.withdrawn
