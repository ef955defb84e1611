"""The order list of a slab: what comes off which roll, tape, mastic and collars, by zone and by delivery."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.order.asked import NOT_DESCRIBED, OrderAsked, ZoneAsked, check_asked
from service.domain.order.collars import CollarSize, Mastic, all_mastic, collar_sizes, mastic_of
from service.domain.order.counts import WHOLE_MPCT, ToOrder, rising, to_order, together
from service.domain.order.film import FilmOrder, film_order
from service.domain.order.tape import TapeOrder, TapeUse, all_tape, length_of, tape_of
from service.domain.words.measures import NM_PER_FOOT, NM_PER_MM
from service.domain.words.speech import later

# 1,000 sq ft in square nanometres, and how many of those a square millimetre has.
_THOUSAND_FT2, _MM2 = 1000 * NM_PER_FOOT**2, NM_PER_MM**2

FAULT_WORDS = {
    "no-sheets": later(
        "A zone has no sheets to cut: if none are laid out yet, its film is not in this list."
    ),
    "edges-not-described": later(
        "Nobody has said yet how film ends along some edges: tape is counted for all of them."
    ),
    "tape-narrow": later("The tape is narrower than the rule sheet asks."),
    "piece-too-large": later(
        "A collar, a sheet under a dam or a patch is larger than the roll and not in this list."
    ),
}


@dataclass(frozen=True, slots=True)
class ZoneTotal:
    """What a zone takes. `film_nm2`: its sheets by the roll's width; `repairs`: expected, by the person's
    number. Rolls stand with the deliveries: one roll may serve two zones."""

    zone_id: str
    sheets: int
    film_nm2: int
    tape: tuple[TapeUse, ...]
    collars: tuple[CollarSize, ...]
    mastic: Mastic
    repairs: int

    @property
    def tape_nm(self) -> int:
        """All its tape, nanometres."""
        return length_of(self.tape)


@dataclass(frozen=True, slots=True)
class DeliveryTotal:
    """What comes with one delivery; `label` is empty for the zones that are in none. The deliveries' rolls
    add up to the order's; `left_over` is what then still lies on site."""

    label: str
    zone_ids: tuple[str, ...]
    sheets: int
    film: ToOrder
    tape: ToOrder


@dataclass(frozen=True, slots=True)
class OrderList:
    """All of it. `faults`: codes of FAULT_WORDS, what to mind before ordering by it."""

    asked: OrderAsked
    film: FilmOrder
    tape: TapeOrder
    collars: tuple[CollarSize, ...]
    mastic: Mastic
    repairs: int
    zones: tuple[ZoneTotal, ...]
    deliveries: tuple[DeliveryTotal, ...]
    faults: tuple[str, ...]


def order_list(asked: OrderAsked) -> OrderList:
    """What to order for all that is asked; BadOrder says why where nothing can be worked out.

    A roll comes with the first delivery of which a sheet is cut off it. Allowances and expected repairs are a
    person's numbers and stand apart in every total.
    """
    check_asked(asked)
    groups = _deliveries(asked)
    at = {zone_id: i for i, (_, zone_ids) in enumerate(groups) for zone_id in zone_ids}
    repairs = _repairs(asked)
    film = film_order(
        asked,
        [(zone, at[zone.zone_id], count) for zone, count in zip(asked.zones, repairs, strict=True)],
        len(groups),
    )
    zones = tuple(_zone(asked, zone, count) for zone, count in zip(asked.zones, repairs, strict=True))
    lengths = [sum(zone.tape_nm for zone in zones if zone.zone_id in zone_ids) for _, zone_ids in groups]
    tape = to_order(lengths, asked.tape_length_nm, asked.tape_allowance_mpct, asked.tape_in_stock)
    uses = all_tape(zone.tape for zone in zones)
    total = length_of(uses)
    return OrderList(
        asked,
        film,
        TapeOrder(
            uses,
            total,
            -(-total * asked.tape_allowance_mpct // WHOLE_MPCT),
            together(tape, asked.tape_in_stock),
        ),
        collar_sizes(asked.zones),
        all_mastic([zone.mastic for zone in zones]),
        sum(repairs),
        zones,
        tuple(
            DeliveryTotal(
                label,
                zone_ids,
                sum(zone.sheets for zone in zones if zone.zone_id in zone_ids),
                film.by_delivery[i],
                tape[i],
            )
            for i, (label, zone_ids) in enumerate(groups)
        ),
        tuple(_faults(asked, film)),
    )


def _deliveries(asked: OrderAsked) -> list[tuple[str, tuple[str, ...]]]:
    """The deliveries with the zones that are there, and last the zones that are in none."""
    there = [zone.zone_id for zone in asked.zones]
    found = [
        (delivery.label, tuple(each for each in there if each in delivery.zone_ids))
        for delivery in asked.deliveries
    ]
    placed = {zone_id for _, zone_ids in found for zone_id in zone_ids}
    rest = tuple(zone_id for zone_id in there if zone_id not in placed)
    return [*found, ("", rest)] if rest or not found else found


def _repairs(asked: OrderAsked) -> list[int]:
    """How many repairs are expected in each zone: whole over all of them, rounded up once."""
    parts = [zone.area_mm2 * _MM2 * asked.repairs.per_1000ft2_m for zone in asked.zones]
    return rising(parts, 1000 * _THOUSAND_FT2)


def _zone(asked: OrderAsked, zone: ZoneAsked, repairs: int) -> ZoneTotal:
    return ZoneTotal(
        zone.zone_id,
        len(zone.sheets),
        sum(sheet.cut_length_nm for sheet in zone.sheets) * asked.roll_width_nm,
        tape_of(zone, repairs, asked.repairs),
        collar_sizes([zone]),
        mastic_of(zone),
        repairs,
    )


def _faults(asked: OrderAsked, film: FilmOrder) -> Iterator[str]:
    edges = [edge for zone in asked.zones for edge in zone.edges]
    if any(not zone.sheets for zone in asked.zones):
        yield "no-sheets"
    if any(edge.kind == NOT_DESCRIBED and edge.length_nm for edge in edges):
        yield "edges-not-described"
    if any(asked.tape_width_nm < zone.numbers.tape_width_nm for zone in asked.zones):
        yield "tape-narrow"
    if not film.all_served:
        yield "piece-too-large"
