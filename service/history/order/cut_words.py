"""Which sheet is cut from which roll and what its offcut serves, and the collars by size, in ruled rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.order.offcuts import Offcut
from service.domain.order.order_list import OrderList
from service.domain.patches.roll_cuts import CutRow
from service.domain.words.measures import Units, say_sides
from service.domain.words.speech import tr, trn
from service.history.closeout.sheet import Cell, Part, Row, Table, cell
from service.history.order.measures import cut_run, left_run, tape_run

MM3_PER_FL_OZ = 29_573.529_562_5  # the US fluid ounce is 29.5735295625 mL by definition (from memory)


def cut_table(order: OrderList, delivery: int, units: Units) -> Table:
    """The rolls of one delivery in the order they are opened, each with its sheets in laying order."""
    offcuts = {of.roll: of for of in order.film.offcuts}
    rows = [
        Row(
            (
                cell(f"{roll.number:,}"),
                cell(", ".join(f"{of.name}: {cut_run(of.cut_length_nm, units)}" for of in roll.sheets)),
                _offcut_cell(roll.offcut_nm, offcuts.get(roll.number), units),
            )
        )
        for roll in order.film.rolls
        if roll.delivery == delivery
    ]
    rows += [
        Row(
            (
                cell(f"{whole.roll:,}"),
                cell(tr("no sheet: opened for small pieces")),
                _offcut_cell(whole.length_nm, whole, units),
            )
        )
        for whole in order.film.whole
        if whole.delivery == delivery
    ]
    heads = (tr("Roll"), tr("Sheets to cut, in laying order"), tr("Left of it, for"))
    return Table(tr("Which sheet is cut from which roll"), heads, (0.5, 2, 2), tuple(rows))


def _offcut_cell(length_nm: int, offcut: Offcut | None, units: Units) -> Cell:
    if not length_nm:
        return cell(tr("nothing left"))
    served = list(_served(offcut.rows, units)) if offcut else []
    if offcut and served:
        served.append(tr("then {length} left", length=left_run(offcut.left_nm, units)))
    return cell(left_run(length_nm, units), *served)


def _served(rows: Sequence[CutRow], units: Units) -> Iterator[str]:
    """Each cut across, with the pieces side by side in it."""
    for row in rows:
        tags = ", ".join(tag for piece in row.pieces for tag in piece.tags)
        patches = sum(not piece.tags for piece in row.pieces)
        told = [tr("for {tags}", tags=tags)] if tags else []
        if patches:
            told.append(trn("{n} patch", "{n} patches", patches))
        yield f"{cut_run(row.length_nm, units)}: {', '.join(told)}"


def collars_part(order: OrderList, units: Units) -> Part:
    """Collars by size with what each is for, and the mastic."""
    rows = tuple(
        Row(
            (
                cell(say_sides(size.length_nm, size.width_nm, units, "up")),
                cell(f"{size.count:,}"),
                cell(", ".join(size.tags)),
            )
        )
        for size in order.collars
    )
    table = Table(tr("Collars to cut"), (tr("Length by width"), tr("Number"), tr("For")), (1, 0.6, 2), rows)
    lines = () if rows else (tr("No collar is left to cut."),)
    mastic = _mastic_words(order, units)
    return Part(
        "collars",
        tr("Collars and mastic"),
        lines=(*lines, *((mastic,) if mastic else ())),
        tables=(table,) if rows else (),
    )


def _mastic_words(order: OrderList, units: Units) -> str:
    mastic = order.mastic
    if not mastic.volume_mm3:
        return ""
    told = []
    if mastic.beads:
        bead = tape_run(mastic.bead_nm, units)
        told.append(trn("{n} bead, {length} in all", "{n} beads, {length} in all", mastic.beads, length=bead))
    if mastic.dams:
        told.append(trn("{n} dam", "{n} dams", mastic.dams))
    if units == "us":
        volume = tr("{n} fl oz", n=f"{-(-mastic.volume_mm3 // MM3_PER_FL_OZ):,.0f}")
    else:
        volume = f"{-(-mastic.volume_mm3 // 1000):,} mL"
    return tr(
        "Mastic: {parts}; about {volume} (common practice, no source).",
        parts=", ".join(told),
        volume=volume,
    )
