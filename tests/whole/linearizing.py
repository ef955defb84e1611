"""Whether what many clients were told could have come of one thing done after another.

Linearizable (Herlihy and Wing 1990): every operation can be given one moment between its call and its return
so that, done in the order of those moments, each gives what it gave. Found by the search of Wing and Gong
(1993), with what was tried once remembered (Lowe 2017). From memory.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

State = TypeVar("State", bound=Hashable)


@dataclass(frozen=True)
class Op:
    """`asked` and `gave` are the model's words; `called` and `returned` moments of one clock."""

    called: float
    returned: float
    asked: Any
    gave: Any


def linearizable(ops: Sequence[Op], start: State, step: Callable[[State, Op], State | None]) -> bool:
    """`step`: the state after the operation, or None where it could not have given that there."""
    ops = sorted(ops, key=lambda op: op.called)
    # Placed: all operations before `low`, and those of `ahead`.
    left: list[tuple[int, frozenset[int], State]] = [(0, frozenset(), start)]
    tried = set(left)
    while left:
        low, ahead, state = left.pop()
        if low == len(ops):
            return True
        for number in _may_be_next(ops, low, ahead):
            after = step(state, ops[number])
            if after is None:
                continue
            place, placed = low, ahead | {number}
            while place in placed:
                placed, place = placed - {place}, place + 1
            if (found := (place, placed, after)) not in tried:
                tried.add(found)
                left.append(found)
    return False


def _may_be_next(ops: Sequence[Op], low: int, ahead: frozenset[int]) -> list[int]:
    """Operations called before any other that is not placed had returned."""
    found, soonest = list[int](), float("inf")
    for number in range(low, len(ops)):
        if number in ahead:
            continue
        if ops[number].called > soonest:
            break
        found.append(number)
        soonest = min(soonest, ops[number].returned)
    return [number for number in found if ops[number].called <= soonest]
