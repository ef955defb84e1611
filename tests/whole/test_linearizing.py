"""The checker itself, on histories whose answer is known, and against trying every order."""

from __future__ import annotations

import random
from itertools import permutations

import pytest

from tests.whole.linearizing import Op, linearizable


def queue(state: tuple[str, ...], op: Op) -> tuple[str, ...] | None:
    what, item = op.asked
    if what == "put":
        return (*state, item)
    return state[1:] if state[:1] == (op.gave,) else None


def put(item: str, called: float, returned: float) -> Op:
    return Op(called, returned, ("put", item), None)


def get(item: str, called: float, returned: float) -> Op:
    return Op(called, returned, ("get", ""), item)


# The four histories of a queue of Herlihy and Wing 1990, figure 1 (from memory), times as drawn.
FIGURE = {
    "a: two puts at once, taken in either order": (
        [put("x", 0, 2), put("y", 1, 3), get("y", 4, 6), get("x", 5, 7), put("z", 8, 9)], True,
    ),
    "b: the second of two puts in a row is taken first": (
        [put("x", 0, 1), put("y", 2, 3), get("y", 4, 5)], False,
    ),
    "c: taken while it is still being put": ([put("x", 0, 3), get("x", 1, 2)], True),
    "d: one thing taken twice": (
        [put("x", 0, 2), put("y", 1, 3), get("y", 4, 5), get("y", 6, 7)], False,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FIGURE)
def test_the_histories_of_the_paper_are_told_apart(name: str) -> None:
    ops, right = FIGURE[name]
    empty: tuple[str, ...] = ()
    assert linearizable(ops, empty, queue) is right


def register(state: int, op: Op) -> int | None:
    if op.asked == "read":
        return state if op.gave == state else None
    return int(op.asked)


def by_every_order(ops: list[Op]) -> bool:
    """The definition, word for word."""
    for order in permutations(ops):
        late = any(
            order[j].returned < order[i].called for i in range(len(order)) for j in range(i, len(order))
        )
        state: int | None = 0
        for op in order:
            state = None if state is None else register(state, op)
        if not late and state is not None:
            return True
    return False


def test_it_agrees_with_trying_every_order_of_random_histories() -> None:
    draw, found = random.Random(9), set[bool]()
    for _ in range(300):
        ops = []
        for _ in range(draw.randint(2, 6)):
            called = draw.uniform(0, 10)
            asked = draw.choice(("read", 1, 2))
            ops.append(Op(called, called + draw.uniform(0, 6), asked, draw.randint(0, 2)))
        expected = by_every_order(ops)
        assert linearizable(ops, 0, register) is expected, ops
        found.add(expected)
    assert found == {True, False}
