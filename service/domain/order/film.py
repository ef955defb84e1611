"""Film rolls: which sheet comes off which roll, what offcuts are left and serve, what is waste."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter

from service.domain.cutting.stock import cut
from service.domain.order.asked import OrderAsked, SheetToCut, ZoneAsked
from service.domain.order.collars import with_collar
from service.domain.order.counts import ToOrder, to_order, together
from service.domain.order.offcuts import COLLAR, DAM, REPAIR, Offcut, Served, SmallPiece, serve


@dataclass(frozen=True, slots=True)
class RollCut:
    """A roll and the sheets that come off it; `delivery`: the first that needs one, which brings the roll."""

    number: int
    sheets: tuple[SheetToCut, ...]
    offcut_nm: int
    delivery: int


@dataclass(frozen=True, slots=True)
class FilmOrder:
    """The film. No cutting of the sheets takes fewer rolls than `bound`; `proved`: none fewer than this one.

    `offcuts`: what is left of those rolls and the collars, sheets under dams and patches that come off it;
    `whole`: rolls opened for those alone (`collar_rolls` for what is needed, `repair_rolls` for what is only
    expected). `unserved`: tags of pieces that no roll gives (an expected patch has none); `all_served`: there
    is no such piece. Areas in nm2: `cut_from_nm2` of all these rolls, `placed_nm2` of what comes off them,
    `waste_nm2` the rest, with no allowance in any.
    """

    rolls: tuple[RollCut, ...]
    bound: int
    proved: bool
    offcuts: tuple[Offcut, ...]
    whole: tuple[Offcut, ...]
    unserved: tuple[str, ...]
    all_served: bool
    counts: ToOrder
    by_delivery: tuple[ToOrder, ...]
    cut_from_nm2: int
    placed_nm2: int

    @property
    def sheet_rolls(self) -> int:
        """Rolls that sheets come off."""
        return len(self.rolls)

    @property
    def collar_rolls(self) -> int:
        """Rolls more, opened for collars and sheets under dams."""
        return sum(roll.use != REPAIR for roll in self.whole)

    @property
    def repair_rolls(self) -> int:
        """Rolls more, opened for repairs that are expected."""
        return sum(roll.use == REPAIR for roll in self.whole)

    @property
    def waste_nm2(self) -> int:
        """Film cut into and not placed."""
        return self.cut_from_nm2 - self.placed_nm2

    @property
    def waste_mpct(self) -> int:
        """The same in thousandths of a per cent of the film cut into, to the nearest; 0 of none."""
        whole = self.cut_from_nm2
        return (200_000 * self.waste_nm2 + whole) // (2 * whole) if whole else 0


def film_order(asked: OrderAsked, zones: Sequence[tuple[ZoneAsked, int, int]], deliveries: int) -> FilmOrder:
    """The film for these zones, each with its delivery and how many repairs are expected in it."""
    sheets = _by_delivery(zones)
    cutting = cut([sheet.cut_length_nm for sheet, _ in sheets], asked.roll_length_nm)
    rolls = tuple(
        RollCut(
            number,
            tuple(sheets[i][0] for i in each.pieces),
            each.offcut_nm,
            min(sheets[i][1] for i in each.pieces),
        )
        for number, each in enumerate(cutting.rolls, 1)
    )
    pieces = [piece for zone, delivery, repairs in zones for piece in _small(asked, zone, delivery, repairs)]
    served = serve(
        _left_of(rolls, asked.roll_width_nm),
        pieces,
        asked.roll_width_nm,
        asked.roll_length_nm,
        len(rolls) + 1,
    )
    needed = [0] * deliveries
    for delivery in (*(roll.delivery for roll in rolls), *(roll.delivery for roll in served.whole)):
        needed[delivery] += 1
    by_delivery = to_order(needed, 1, asked.film_allowance_mpct, asked.film_in_stock)
    return FilmOrder(
        rolls,
        cutting.bound,
        cutting.proved,
        served.offcuts,
        served.whole,
        tuple(tag for piece in served.unserved for tag in piece.tags),
        not served.unserved,
        together(by_delivery, asked.film_in_stock),
        by_delivery,
        sum(needed) * asked.roll_width_nm * asked.roll_length_nm,
        sum(sheet.cut_length_nm * sheet.width_nm for sheet, _ in sheets) + _placed(served),
    )


def _by_delivery(zones: Sequence[tuple[ZoneAsked, int, int]]) -> list[tuple[SheetToCut, int]]:
    sheets = [(sheet, delivery) for zone, delivery, _ in zones for sheet in zone.sheets]
    return sorted(sheets, key=itemgetter(1))


def _small(asked: OrderAsked, zone: ZoneAsked, delivery: int, repairs: int) -> list[SmallPiece]:
    collars = [
        SmallPiece(COLLAR, (pipe.tag,), length, width, delivery) for pipe, width, length in with_collar(zone)
    ]
    dams = [SmallPiece(DAM, group.tags, group.length_nm, group.width_nm, delivery) for group in zone.groups]
    patch = SmallPiece(REPAIR, (), asked.repairs.length_nm, asked.repairs.width_nm, delivery)
    return [*collars, *dams, *(patch,) * repairs]


def _left_of(rolls: Sequence[RollCut], roll_width_nm: int) -> list[Offcut]:
    """What is left of each roll: its end, and what lies beside a sheet ripped to less than its width."""
    left = []
    for roll in rolls:
        if roll.offcut_nm:
            left.append(Offcut(roll.number, roll.offcut_nm, roll_width_nm, roll.delivery))
        left += [
            Offcut(roll.number, sheet.cut_length_nm, roll_width_nm - sheet.width_nm, roll.delivery)
            for sheet in roll.sheets
            if sheet.width_nm < roll_width_nm
        ]
    return left


def _placed(served: Served) -> int:
    rows = [row for film in (*served.offcuts, *served.whole) for row in film.rows]
    return sum(piece.length_nm * piece.width_nm for row in rows for piece in row.pieces)
