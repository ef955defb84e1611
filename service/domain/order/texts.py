"""The order list as the rows of a table that is exported: English, lengths to cut rounded up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from service.domain.nouns.rules import PRACTICE
from service.domain.order.asked import OrderAsked, as_cut
from service.domain.order.counts import ToOrder
from service.domain.order.film import FilmOrder
from service.domain.order.offcuts import Offcut
from service.domain.order.order_list import FAULT_WORDS, OrderList, ZoneTotal
from service.domain.order.tape import TapeUse
from service.domain.words.measures import NM_PER_FOOT, NM_PER_M, Toward, Units, say_run
from service.domain.words.speech import IN_ENGLISH, speaking

# `number` counts; `length` and `width` are sides; `amount` is a length, an area or a volume in all.
HEAD = ["part", "for", "what", "number", "length", "width", "amount", "note"]


def order_rows(order: OrderList, units: Units, names: Mapping[str, str] | None = None) -> list[list[str]]:
    """Every row, the head first. `names`: what a zone is called, by its id."""
    with speaking(IN_ENGLISH):
        return [HEAD, *_rows(order, units, names or {})]


def _rows(order: OrderList, units: Units, names: Mapping[str, str]) -> Iterator[list[str]]:
    yield from _film(order, units)
    yield from _tape(order, units)
    for size in order.collars:
        sides = _sides(size.length_nm, size.width_nm, units)
        yield _row("collars", "", "collar", size.count, sides, note=" ".join(size.tags))
    yield from _mastic(order, units)
    for zone in order.zones:
        yield from _zone(zone, names.get(zone.zone_id, zone.zone_id), units)
    for i, delivery in enumerate(order.deliveries, 1):
        called = f"{i}: {delivery.label or 'zones in no delivery'}"
        zones = " ".join(names.get(zone_id, zone_id) for zone_id in delivery.zone_ids)
        yield _row("deliveries", called, "sheets", delivery.sheets, note=f"zones {zones}")
        yield from _counts("deliveries", called, "rolls of film, ", delivery.film)
        yield from _counts("deliveries", called, "rolls of tape, ", delivery.tape)
    yield from _cuts(order.film, order.asked, units)
    for fault in order.faults:
        yield _row("to mind", what=FAULT_WORDS[fault])
    if order.film.unserved:
        yield _row("to mind", what="no roll of this film gives the piece", note=" ".join(order.film.unserved))


def _row(
    part: str,
    of: str = "",
    what: str = "",
    number: int | None = None,
    sides: tuple[str, str] = ("", ""),
    *,
    amount: str = "",
    note: str = "",
) -> list[str]:
    return [part, of, what, "" if number is None else str(number), *sides, amount, note]


def _film(order: OrderList, units: Units) -> Iterator[list[str]]:
    film, asked = order.film, order.asked
    sides = _sides(asked.roll_length_nm, asked.roll_width_nm, units)
    proof = "proved: no fewer can do" if film.proved else f"not proved: at least {film.bound} are needed"
    yield _row("film", "", "rolls for sheets", film.sheet_rolls, sides, note=proof)
    yield _row("film", what="rolls more for collars and sheets under dams", number=film.collar_rolls)
    yield _row(
        "film", what="rolls more for expected repairs", number=film.repair_rolls, note=_expected(order)
    )
    yield from _counts("film", "", "rolls, ", film.counts, asked.film_allowance_mpct)
    yield _row("film", what="cut into", amount=_area(film.cut_from_nm2, units))
    yield _row("film", what="placed", amount=_area(film.placed_nm2, units))
    share = f"{_thousandths(film.waste_mpct)} % of the film cut into"
    yield _row("film", what="waste", amount=_area(film.waste_nm2, units), note=share)


def _expected(order: OrderList) -> str:
    rate = _thousandths(order.asked.repairs.per_1000ft2_m)
    return f"{order.repairs} expected: {rate} for each 1,000 sq ft, a number chosen by a person"


def _counts(part: str, of: str, called: str, counts: ToOrder, mpct: int | None = None) -> Iterator[list[str]]:
    chosen = "" if mpct is None else f"{_thousandths(mpct)} %, chosen by a person"
    yield _row(part, of, f"{called}needed before allowance", counts.needed)
    yield _row(part, of, f"{called}allowance", counts.allowance, note=chosen)
    yield _row(part, of, f"{called}stock on site used", counts.stock)
    yield _row(part, of, f"{called}to order", counts.to_order)
    yield _row(part, of, f"{called}left over on site", counts.left_over)


def _tape(order: OrderList, units: Units) -> Iterator[list[str]]:
    tape, asked = order.tape, order.asked
    yield from _uses("tape", "", tape.uses, units)
    sides = _sides(asked.tape_length_nm, asked.tape_width_nm, units)
    yield _row("tape", "", "all, before allowance", None, sides, amount=_run(tape.total_nm, units))
    yield _row("tape", what="allowance", amount=_run(tape.allowance_nm, units))
    yield from _counts("tape", "", "rolls, ", tape.counts, asked.tape_allowance_mpct)


def _uses(part: str, of: str, uses: tuple[TapeUse, ...], units: Units) -> Iterator[list[str]]:
    for use in uses:
        if use.nm:
            yield _row(part, of, f"tape: {use.use}" if of else use.use, amount=_run(use.nm, units))


def _mastic(order: OrderList, units: Units) -> Iterator[list[str]]:
    mastic = order.mastic
    if mastic.beads or mastic.dams:
        bead = _run(mastic.bead_nm, units)
        yield _row("mastic", what="beads round small penetrations", number=mastic.beads, amount=bead)
        area = _area(mastic.dam_nm2, units)
        yield _row("mastic", what="dams filled", number=mastic.dams, amount=area)
        litres = f"{-(-mastic.volume_mm3 // 10_000) / 100:.2f} L"
        yield _row("mastic", what="in all, an estimate", amount=litres, note=PRACTICE)


def _zone(zone: ZoneTotal, name: str, units: Units) -> Iterator[list[str]]:
    yield _row("zones", name, "sheets", zone.sheets, amount=_area(zone.film_nm2, units))
    yield from _uses("zones", name, zone.tape, units)
    yield _row("zones", name, "tape: all, before allowance", amount=_run(zone.tape_nm, units))
    yield _row("zones", name, "collars", sum(size.count for size in zone.collars))
    yield _row("zones", name, "expected repairs", zone.repairs)


def _cuts(film: FilmOrder, asked: OrderAsked, units: Units) -> Iterator[list[str]]:
    """The cutting plan: every roll, its sheets in order, what is left of it and what comes off that."""
    for roll in film.rolls:
        called = f"roll {roll.number}"
        for sheet in roll.sheets:
            sides = _sides(sheet.cut_length_nm, sheet.width_nm, units)
            yield _row("cutting", called, f"sheet {sheet.name}", 1, sides)
        for offcut in film.offcuts:
            if offcut.roll == roll.number:
                yield from _pieces("offcut", offcut, units)
    for opened in film.whole:
        yield from _pieces(f"whole roll, for {opened.use}s", opened, units)


def _pieces(what: str, film: Offcut, units: Units) -> Iterator[list[str]]:
    """A piece of film and what comes off it; patches of one size, expected and so with no tag, in one row."""
    called, left = f"roll {film.roll}", _long(film.left_nm, units, "down")
    sides = (_long(film.length_nm, units, "down"), _long(film.width_nm, units, "down"))
    yield _row("cutting", called, what, 1, sides, note=f"{left} of its length left")
    alike = Counter(
        (piece.tags, piece.length_nm, piece.width_nm) for row in film.rows for piece in row.pieces
    )
    for (tags, length, width), count in alike.items():
        note = " ".join(tags) or "expected repairs"
        yield _row("cutting", called, "piece", count, _sides(length, width, units), note=note)


def _sides(length_nm: int, width_nm: int, units: Units) -> tuple[str, str]:
    """What to cut, or how much a roll has, so that it is never too little."""
    return _long(length_nm, units, "up"), _long(width_nm, units, "up")


def _long(nm: int, units: Units, toward: Toward) -> str:
    """`47 ft 3 1/16 in` or `14,402 mm`, rounded to what can be read off a tape measure."""
    return say_run(as_cut(nm, units) if toward == "up" else -as_cut(-nm, units), units)


def _run(nm: int, units: Units) -> str:
    """A length in all, rounded up to the foot or the tenth of a metre."""
    if units == "us":
        return f"{-(-nm // NM_PER_FOOT)} ft"
    tenths = -(-nm * 10 // NM_PER_M)
    return f"{tenths // 10}.{tenths % 10} m"


def _area(nm2: int, units: Units) -> str:
    """An area to the nearest tenth."""
    one, unit = (NM_PER_FOOT**2, "sq ft") if units == "us" else (NM_PER_M**2, "m2")
    tenths = (20 * nm2 + one) // (2 * one)
    return f"{tenths // 10}.{tenths % 10} {unit}"


def _thousandths(value: int) -> str:
    """A number kept in thousandths, without what it does not need: `5`, `7.5`, `0.125`."""
    return f"{value // 1000}.{value % 1000:03}".rstrip("0").rstrip(".")
