"""From amounts by delivery to rolls to order: what is needed, the allowance apart, stock taken off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

WHOLE_MPCT = 100_000  # all of it, in thousandths of a per cent


@dataclass(frozen=True, slots=True)
class ToOrder:
    """Whole rolls: `needed` and `allowance` together, less `stock` that is used, are `to_order`.

    `left_over`: rolls on site that nothing is left to use. Nothing is negative.
    """

    needed: int
    allowance: int
    stock: int
    to_order: int
    left_over: int


def to_order(amounts: Sequence[int], roll: int, allowance_mpct: int, stock: int) -> tuple[ToOrder, ...]:
    """For each delivery in order, the rolls for so much of it, `roll` being what one roll gives.

    What is left of an earlier delivery's last roll is used up first, so rolls are rounded up over all so
    far, with the allowance and without. Stock goes to the earliest deliveries.
    """
    so_far = list(accumulate(amounts))
    needed = [-(-amount // roll) for amount in so_far]
    with_it = [-(-amount * (WHOLE_MPCT + allowance_mpct) // (WHOLE_MPCT * roll)) for amount in so_far]
    # No later roll makes an earlier allowance less: it is the least of all from there on.
    spare = [total - bare for total, bare in zip(with_it, needed, strict=True)]
    spare = list(accumulate(reversed(spare), min))[::-1]
    found = []
    for bare, more in zip(_steps(needed), _steps(spare), strict=True):
        used = min(stock, bare + more)
        stock -= used
        found.append(ToOrder(bare, more, used, bare + more - used, stock))
    return tuple(found)


def together(parts: Sequence[ToOrder], stock: int) -> ToOrder:
    """The deliveries in one; `stock`: the rolls that lay on site before the first."""
    return ToOrder(
        sum(part.needed for part in parts),
        sum(part.allowance for part in parts),
        sum(part.stock for part in parts),
        sum(part.to_order for part in parts),
        stock - sum(part.stock for part in parts),
    )


def rising(amounts: Sequence[int], unit: int) -> list[int]:
    """Whole units of each amount, rounded up over all so far: together they are the whole rounded up once."""
    return _steps([-(-amount // unit) for amount in accumulate(amounts)])


def _steps(totals: Sequence[int]) -> list[int]:
    return [after - before for before, after in pairwise((0, *totals))]
