"""Cutting lengths off rolls so that the fewest rolls are opened: a good cutting, and how few can do at all.

First by rules of thumb; where these do not meet the bound, by ways of cutting a roll and a program that picks
whole rolls among them. All effort is counted in steps, never by a clock: the same pieces always get the same
answer. What fits is decided by whole nanometres, and exactly the roll's length fits.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter, defaultdict, deque
from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.cutting.bounds import least_rolls
from service.domain.cutting.program import Way, fewer_rolls
from service.domain.cutting.search import Search
from service.domain.cutting.ways import Wanted, all_ways
from service.domain.words.speech import tr

# Where there are more different lengths than this, those near each other are taken as one, so many in all.
MOST_LENGTHS, KINDS = 300, 120
# A program of whole rolls with more lengths by ways than this would not end soon.
MOST_CELLS = 20_000
# How far the rule that fills a roll as full as it can looks, in steps: for each roll, and in all.
STEPS_A_ROLL, STEPS_IN_ALL = 1_500, 150_000

Cut = tuple[int, ...]  # the lengths that come off one roll


class BadCut(ValueError):
    """Pieces that cannot be cut from these rolls: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class CutRoll:
    """One roll: the pieces that come off it, by their place in what was given, and what is left of it."""

    pieces: tuple[int, ...]
    offcut_nm: int


@dataclass(frozen=True, slots=True)
class Cutting:
    """Every piece off a roll. No cutting takes fewer rolls than `bound`; `proved`: none takes fewer than this
    one. Where it is not proved the gap is `len(rolls) - bound`."""

    rolls: tuple[CutRoll, ...]
    bound: int
    proved: bool


def cut(lengths_nm: Sequence[int], roll_nm: int) -> Cutting:
    """Rolls for all these pieces, whole nanometres each. BadCut where one is longer than the roll or nothing.

    Rolls come in the order of the first piece on each; of pieces of one length the earlier come off first.
    """
    if any(length <= 0 for length in lengths_nm):
        raise BadCut("no-length", tr("A piece to cut has a length above nothing."))
    if any(length > roll_nm for length in lengths_nm):
        raise BadCut("longer-than-roll", tr("A piece is longer than the roll it is to be cut from."))
    settled, rest = _settled(sorted(lengths_nm, reverse=True), roll_nm)
    cuts, bound = _fewest(rest, roll_nm) if rest else ([], 0)
    rolls = _by_piece(settled + cuts, lengths_nm, roll_nm)
    return Cutting(rolls, len(settled) + bound, len(cuts) == bound)


def _settled(falling: Sequence[int], roll: int) -> tuple[list[Cut], list[int]]:
    """Rolls that some least cutting has for certain, and the lengths left.

    With the longest piece no two others fit: then the longest that does may as well come off the same roll,
    because whatever else a least cutting has there can change places with it.
    """
    settled: list[Cut] = []
    rising = sorted(falling)
    while rising:
        longest = rising.pop()
        if len(rising) > 1 and longest + rising[0] + rising[1] <= roll:
            rising.append(longest)
            break
        beside = bisect_left(rising, roll - longest + 1) - 1
        settled.append((longest, rising.pop(beside)) if beside >= 0 else (longest,))
    return settled, rising[::-1]


def _fewest(falling: Sequence[int], roll: int) -> tuple[list[Cut], int]:
    """A cutting of these and a bound: equal where the cutting is proved."""
    wanted = _wanted(falling, roll)
    cuts, bound = best_fit(falling, roll), least_rolls(wanted.lengths, wanted.counts, roll)
    if len(cuts) > bound:
        cuts = min(cuts, fullest_first(falling, roll), key=len)
    if len(cuts) == bound:
        return cuts, bound
    if len(wanted.lengths) <= MOST_LENGTHS:
        return _by_ways(wanted, cuts, bound)
    return _by_kinds(falling, roll, cuts, bound)


def _wanted(falling: Sequence[int], roll: int) -> Wanted:
    lengths, counts = zip(*sorted(Counter(falling).items(), reverse=True), strict=True)
    return Wanted(lengths, counts, roll)


def best_fit(falling: Sequence[int], roll: int) -> list[Cut]:
    """Each piece, the longest first, off the roll with the least room that it fits."""
    rooms: list[tuple[int, int]] = []
    cuts: list[list[int]] = []
    for length in falling:
        i = bisect_left(rooms, (length, -1))
        room, roll_at = rooms.pop(i) if i < len(rooms) else (roll, len(cuts))
        if roll_at == len(cuts):
            cuts.append([])
        cuts[roll_at].append(length)
        insort(rooms, (room - length, roll_at))
    return [tuple(each) for each in cuts]


def fullest_first(falling: Sequence[int], roll: int) -> list[Cut]:
    """Roll by roll: the longest piece left, and the others that fill the roll fullest as far as is looked."""
    left, cuts = dict(sorted(Counter(falling).items(), reverse=True)), []
    steps = min(STEPS_A_ROLL, STEPS_IN_ALL * roll // sum(falling))
    while left:
        longest = next(iter(left))
        _take(left, (longest,))
        beside = _fullest(list(left.items()), roll - longest, steps)
        _take(left, beside)
        cuts.append((longest, *beside))
    return cuts


def _take(left: dict[int, int], lengths: Cut) -> None:
    for length in lengths:
        left[length] -= 1
        if not left[length]:
            del left[length]


def _fullest(pieces: Sequence[tuple[int, int]], room: int, steps: int) -> Cut:
    """Lengths of these (length, how many; falling) that leave the least of the room, as far as is looked."""
    best: Cut = ()
    best_room, lengths = room, [-length for length, _ in pieces]
    ahead: list[tuple[int, Cut, int]] = [(0, (), room)]
    for _ in range(steps):
        if not ahead or not best_room:
            break
        i, taken, here = ahead.pop()
        if here < best_room:
            best, best_room = taken, here
        i = max(i, bisect_left(lengths, -here))
        if i < len(pieces):
            length, count = pieces[i]
            most = min(count, here // length)
            ahead += [(i + 1, taken + (length,) * n, here - n * length) for n in range(most + 1)]
    return best


def _by_ways(wanted: Wanted, cuts: list[Cut], bound: int) -> tuple[list[Cut], int]:
    """The same by whole rolls among ways of cutting one; never more rolls than these cuts."""
    listed = all_ways(wanted)
    search = Search(wanted, listed or [_way(wanted, each) for each in cuts])
    search.run()
    bound = max(bound, search.bound)
    if len(cuts) > bound:
        cuts = min(cuts, _just_enough(wanted, search.rolls_one_by_one()), key=len)
    if len(cuts) == bound or len(search.ways) * len(wanted.lengths) > MOST_CELLS:
        return cuts, bound
    rolls, whole = fewer_rolls(wanted.counts, search.ways, bound, len(cuts))
    cuts = cuts if rolls is None else _just_enough(wanted, rolls)
    # Only where every way was among them does a search to its end say that no cutting takes fewer.
    return cuts, len(cuts) if listed and whole else bound


def _by_kinds(falling: Sequence[int], roll: int, cuts: list[Cut], bound: int) -> tuple[list[Cut], int]:
    """The same with lengths that lie near each other taken as one: as their longest for a cutting, which then
    gives each of them, and as their shortest for a bound (Fernandez de la Vega and Lueker 1981)."""
    size = -(-len(falling) // KINDS)
    runs = [falling[i : i + size] for i in range(0, len(falling), size)]
    shortest = _wanted([run[-1] for run in runs for _ in run], roll)
    search = Search(shortest, [_way(shortest, each) for each in best_fit(_all_of(shortest), roll)])
    search.run()
    bound = max(bound, search.bound)
    longest = _wanted([run[0] for run in runs for _ in run], roll)
    found, _ = _by_ways(longest, best_fit(_all_of(longest), roll), bound)
    waiting: dict[int, deque[int]] = defaultdict(deque)
    for run in runs:
        waiting[run[0]].extend(run)
    real = [tuple(waiting[length].popleft() for length in each) for each in found]
    return min(cuts, real, key=len), bound


def _all_of(wanted: Wanted) -> list[int]:
    return [nm for nm, count in zip(wanted.lengths, wanted.counts, strict=True) for _ in range(count)]


def _way(wanted: Wanted, lengths: Cut) -> Way:
    count = Counter(lengths)
    return tuple(count[length] for length in wanted.lengths)


def _just_enough(wanted: Wanted, rolls: Sequence[Way]) -> list[Cut]:
    """These rolls with no more pieces than are wanted; a roll that is left with none falls away."""
    left, cuts = list(wanted.counts), []
    for way in rolls:
        taken = [min(a, b) for a, b in zip(way, left, strict=True)]
        left = [b - a for a, b in zip(taken, left, strict=True)]
        cuts.append(tuple(nm for nm, a in zip(wanted.lengths, taken, strict=True) for _ in range(a)))
    return [each for each in cuts if each]


def _by_piece(cuts: Sequence[Cut], lengths: Sequence[int], roll: int) -> tuple[CutRoll, ...]:
    """The cuts with the pieces themselves: the earlier ones together as far as their lengths allow."""
    waiting: dict[int, deque[int]] = defaultdict(deque)
    for i, length in enumerate(lengths):
        waiting[length].append(i)
    rolls = []
    for each in sorted(cuts, key=lambda each: min(waiting[length][0] for length in each)):
        pieces = tuple(sorted(waiting[length].popleft() for length in each))
        rolls.append(CutRoll(pieces, roll - sum(each)))
    return tuple(sorted(rolls, key=lambda each: each.pieces))
