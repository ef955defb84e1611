"""What an order comes to in ruled rows: tape by use, collars, each zone and each delivery, waste."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.words.speech import tr
from service.history.closeout.sheet import Cell, Part, Row, Table, cell
from service.history.order.cut_words import collars_part
from service.history.order.measures import film_area, share_up, tape_run
from service.history.order.told import OrderTold


def label_of(label: str) -> str:
    return label or tr("zones in no delivery")


def letters_of(told: OrderTold, ids: Sequence[str]) -> str:
    return ", ".join(told.letters[id] for id in ids)


def after(told: OrderTold) -> Iterator[Part]:
    """What stands after the cut plans."""
    yield _tape(told)
    yield collars_part(told.order, told.units)
    yield _by_zone(told)
    if told.order.asked.deliveries:
        yield _by_delivery(told)
    yield _waste(told)


def _tape(told: OrderTold) -> Part:
    tape = told.order.tape
    rows = [Row((cell(tr(use.use)), cell(tape_run(use.nm, told.units)))) for use in tape.uses if use.nm]
    rows.append(Row((cell(tr("All of it")), cell(tape_run(tape.total_nm, told.units)))))
    rows.append(Row((cell(tr("Allowance, apart")), cell(tape_run(tape.allowance_nm, told.units)))))
    table = Table(tr("Tape by use"), (tr("Use"), tr("Length")), (2, 1), tuple(rows))
    return Part("tape", tr("Tape"), tables=(table,))


def _by_zone(told: OrderTold) -> Part:
    units = told.units
    heads = (
        tr("Zone"), tr("Sheets"), tr("Film off the roll"), tr("Tape"), tr("Collars"), tr("Repairs expected"),
    )  # fmt: skip
    rows = []
    for zone in told.order.zones:
        counts: tuple[Cell, ...] = (
            cell(told.letters[zone.zone_id]),
            cell(f"{zone.sheets:,}"),
            cell(film_area(zone.film_nm2, units)),
            cell(tape_run(zone.tape_nm, units)),
            cell(f"{sum(size.count for size in zone.collars):,}"),
            cell(f"{zone.repairs:,}"),
        )
        rows.append(Row(counts, thing=("zone", zone.zone_id)))
    return Part(
        "zones", tr("By zone"), tables=(Table(tr("What each zone takes"), heads, (1,) * 6, tuple(rows)),)
    )


def _by_delivery(told: OrderTold) -> Part:
    heads = (tr("Delivery"), tr("Zones"), tr("Sheets"), tr("Film to order"), tr("Tape to order"))
    rows = tuple(
        Row(
            (
                cell(label_of(of.label)),
                cell(letters_of(told, of.zone_ids)),
                cell(f"{of.sheets:,}"),
                cell(f"{of.film.to_order:,}"),
                cell(f"{of.tape.to_order:,}"),
            )
        )
        for of in told.order.deliveries
    )
    line = tr(
        "Each roll counts with the delivery that needs it first, so the deliveries add up to the whole."
    )
    return Part(
        "deliveries",
        tr("By delivery"),
        lines=(line,),
        tables=(Table(tr("What comes when"), heads, (1.4, 1, 1, 1, 1), rows),),
    )


def _waste(told: OrderTold) -> Part:
    film, units = told.order.film, told.units
    rows = (
        Row((cell(tr("Film cut from")), cell(film_area(film.cut_from_nm2, units)))),
        Row((cell(tr("Film that serves")), cell(film_area(film.placed_nm2, units)))),
        Row((cell(tr("Waste")), cell(film_area(film.waste_nm2, units), share_up(film.waste_mpct)))),
    )
    table = Table(tr("Film waste of these rolls, without allowance"), (tr("What"), tr("Film")), (2, 1), rows)
    return Part("waste", tr("Waste"), tables=(table,))
