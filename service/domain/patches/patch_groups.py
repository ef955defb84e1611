"""Which marks go under one patch: those that can never share kept apart, few solved exactly, many nearly.

Kept apart. Take a patch of a least plan and look at its marks in its own frame, each in its box grown by
the overlap. Put boxes that meet into one box, until none meet: if more than one is left, they lie apart
inside the patch, and patches of just those boxes take less film. So the marks under one patch close into
one box in that frame, and marks that do not close together in any frame share no patch, whatever lies
between them. Frames are looked at in steps, with room for all the turning between two steps.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from heapq import heapify, heappop, heappush

import numpy as np

from service.domain.patches.least_patch import NEVER, Field, Floats, Whole
from service.domain.shapes.outlines import reach_nm

# The most marks that are solved over all partitions; past it some three times the work for each mark more.
MOST_EXACT = 12
# Many marks are solved again in neighbourhoods: (marks in one, how many times at most).
NEIGHBOURHOODS = ((8, 300), (11, 16))
# A group is tried together with so many others, the nearest.
MOST_JOINED = 16
_DIRECTIONS = 64  # frames looked at in a quarter turn

Group = tuple[int, ...]
Cost = tuple[int, int]


def components(field: Field, marks: Sequence[int]) -> list[list[int]]:
    """The marks in clusters that share no patch with each other in any least plan."""
    pairs: set[tuple[int, int]] = set()
    turns = ((np.arange(_DIRECTIONS) + 0.5) * (np.pi / 2 / _DIRECTIONS)).astype(np.float64)
    if len(marks) > 1:
        reach = field.supports(marks, turns) + field.margin_nm
        for frame in range(_DIRECTIONS):
            closed = _closed(reach[:, :, frame])
            pairs.update((group[0], place) for group in closed for place in group[1:])
            if any(len(group) == len(marks) for group in closed):
                break  # all together already: no frame can part them again
    return [[marks[place] for place in group] for group in _linked(len(marks), pairs)]


def _closed(boxes: Floats) -> list[list[int]]:
    """The marks (by place) in groups got when boxes (4, n) that meet become one box, until none meet.

    Boxes are those of one frame; within half a step of turning they move against each other by no more than
    that angle times how far both spread, so they meet in some frame only if they come so near here.
    """
    sets = [[place] for place in range(boxes.shape[1])]
    fresh = np.arange(len(sets))
    while True:
        gap = np.maximum(
            -(boxes[:2, fresh, None] + boxes[2:, None, :]), -(boxes[2:, fresh, None] + boxes[:2, None, :])
        ).max(axis=0)
        size = boxes.sum(axis=0)
        spread = size[fresh, None] + size + 2 * np.maximum(gap, 0)
        row, column = np.nonzero(gap <= spread * (np.pi / 4 / _DIRECTIONS))
        groups = _linked(len(sets), zip(fresh[row].tolist(), column.tolist(), strict=True))
        if len(groups) == len(sets):
            return sets
        starts = np.cumsum([0, *(len(group) for group in groups[:-1])])
        boxes = np.maximum.reduceat(boxes[:, [k for group in groups for k in group]], starts, axis=1)
        sets = [sorted(place for k in group for place in sets[k]) for group in groups]
        fresh = np.array([k for k, group in enumerate(groups) if len(group) > 1])


def _linked(count: int, pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """The places 0 to count in the groups that the pairs link."""
    root = list(range(count))

    def top(place: int) -> int:
        while root[place] != place:
            root[place] = place = root[root[place]]
        return place

    for pair in pairs:
        a, b = sorted(map(top, pair))
        root[b] = a
    groups: dict[int, list[int]] = {}
    for place in range(count):
        groups.setdefault(top(place), []).append(place)
    return list(groups.values())


def least_groups(field: Field, marks: Sequence[int]) -> list[Group]:
    """The partition of a cluster with the least film, then the least tape; exact up to MOST_EXACT marks."""
    return exact_groups(field, marks) if len(marks) <= MOST_EXACT else near_groups(field, marks)


def exact_groups(field: Field, marks: Sequence[int]) -> list[Group]:
    """The best of all partitions, one patch a group at its best angle."""
    film, tape = field.costs(marks)
    masks = best_partition(film, tape)
    return [tuple(mark for bit, mark in enumerate(marks) if mask >> bit & 1) for mask in masks]


def best_partition(film: Whole, tape: Whole) -> list[int]:
    """The sets (bit masks) that hold every mark once with the least film, then tape; ties by a fixed order.

    A set's lowest mark is in one group: `best` of the set is the least over that group's choices, filled from
    the highest marks down, all sets with the same lowest mark at once.
    """
    marks = len(film).bit_length() - 1
    best_film, best_tape = np.zeros_like(film), np.zeros_like(tape)
    for low in reversed(range(marks)):
        group, rest, starts = _choices(marks - 1 - low)
        own, left = (2 * group + 1) << low, rest << (low + 1)
        films, tapes = film[own] + best_film[left], tape[own] + best_tape[left]
        least = np.minimum.reduceat(films, starts)
        sets = (2 * np.arange(len(starts)) + 1) << low
        counts = np.diff(np.append(starts, len(films)))
        tapes = np.where(films == np.repeat(least, counts), tapes, NEVER)
        best_film[sets], best_tape[sets] = least, np.minimum.reduceat(tapes, starts)
    return _read_back(film, tape, best_film, best_tape)


@lru_cache(maxsize=16)
def _choices(marks: int) -> tuple[Whole, Whole, Whole]:
    """(group, rest, where each set starts): every set of these marks, each with every way to part it."""
    group, rest = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    for mark in range(marks):
        bit = 1 << mark
        group, rest = np.concatenate((group, group, group | bit)), np.concatenate((rest, rest | bit, rest))
    order = np.lexsort((group, group | rest))
    whole = (group | rest)[order]
    return group[order], rest[order], np.flatnonzero(np.diff(whole, prepend=-1))


def _read_back(film: Whole, tape: Whole, best_film: Whole, best_tape: Whole) -> list[int]:
    left, found = len(film) - 1, []
    while left:
        low = left & -left
        group, rest, starts = _choices((left // low).bit_length() - 1)
        at = left // low >> 1
        end = starts[at + 1] if at + 1 < len(starts) else len(group)
        own = (2 * group[starts[at] : end] + 1) * low
        other = rest[starts[at] : end] * 2 * low
        fits = (film[own] + best_film[other] == best_film[left]) & (
            tape[own] + best_tape[other] == best_tape[left]
        )
        chosen = int(own[np.flatnonzero(fits)[-1]])  # the largest group of those as good
        found.append(chosen)
        left &= ~chosen
    return found


def near_groups(field: Field, marks: Sequence[int]) -> list[Group]:
    """A good partition of many marks, never worse than one patch each: joined by the best gain, then mended.

    Mended: each group with the groups nearest it is solved exactly again, until none gains or often enough.
    """
    groups = _joined(field, marks)
    for room, times in NEIGHBOURHOODS:
        groups = _mended(field, groups, room, times)
    return sorted(groups)


def _mended(field: Field, groups: list[Group], room: int, times: int) -> list[Group]:
    waiting = deque(sorted(group for group in groups if len(group) <= room))
    while waiting and times:
        here = waiting.popleft()
        if here not in groups:
            continue
        times -= 1
        old = _around(field, here, groups, room)
        new = exact_groups(field, sorted(mark for group in old for mark in group))
        if _sum(field, new) < _sum(field, old):
            waiting += (group for group in new if group not in old)
            groups = [group for group in groups if group not in old] + new
    return groups


def _sum(field: Field, groups: Iterable[Group]) -> Cost:
    costs = [field.cost(group) for group in groups]
    return sum(film for film, _ in costs), sum(tape for _, tape in costs)


def _around(field: Field, here: Group, groups: Sequence[Group], room: int) -> list[Group]:
    """This group and the nearest others, with no more marks than there is room for."""
    taken, room = [here], room - len(here)
    others = [group for group in groups if group != here]
    for group in sorted(others, key=lambda group: (field.apart(here, group), group)):
        if len(group) > room:
            break
        taken.append(group)
        room -= len(group)
    return taken


def _joined(field: Field, marks: Sequence[int]) -> list[Group]:
    """One patch each, then the two groups that save most put under one, until none saves."""
    near = _near(field, marks)
    groups: set[Group] = {(mark,) for mark in marks}
    gains = [gain for a in sorted(groups) for gain in _gains(field, a, groups, near)]
    heapify(gains)
    while gains:
        _, a, b = heappop(gains)
        if a not in groups or b not in groups:
            continue
        both = tuple(sorted((*a, *b)))
        groups = groups - {a, b} | {both}
        for gain in _gains(field, both, groups, near):
            heappush(gains, gain)
    return sorted(groups)


def _near(field: Field, marks: Sequence[int]) -> dict[int, set[int]]:
    """For each mark those whose grown outlines can meet its own."""
    at = np.array([field.at[mark] for mark in marks])
    reach = np.array([reach_nm(field.outlines[mark]) + field.margin_nm for mark in marks])
    away = np.hypot(at[:, None, 0] - at[None, :, 0], at[:, None, 1] - at[None, :, 1])
    meets = away <= reach[:, None] + reach[None, :]
    return {marks[k]: {marks[int(j)] for j in np.flatnonzero(meets[k])} for k in range(len(marks))}


def _gains(
    field: Field, a: Group, groups: Iterable[Group], near: dict[int, set[int]]
) -> Iterator[tuple[Cost, Group, Group]]:
    """What one patch over this group and a near one changes (film, tape), where that saves."""
    reached = set().union(*(near[mark] for mark in a))
    touched = [b for b in groups if b != a and not reached.isdisjoint(b)]
    for b in sorted(touched, key=lambda b: (field.apart(a, b), b))[:MOST_JOINED]:
        alone, joint = _sum(field, (a, b)), field.cost(tuple(sorted((*a, *b))))
        change = joint[0] - alone[0], joint[1] - alone[1]
        if change < (0, 0):
            yield change, min(a, b), max(a, b)
