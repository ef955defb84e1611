"""What seal a penetration needs, what is wrong with one as built, and where a row of them stands."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise

import shapely

from service.domain.nouns.installed import COLLAR, DAM, MASTIC, Px, Seal
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle, Outline, Polygon, sides_and_angle
from service.domain.words.measures import SIXTEENTH_NM
from service.domain.words.speech import later, tr

LEAST_ROW, LONGEST_ROW = 2, 200

# pi rounded up at its thirtieth decimal: a girth worked out with it is never short.
_PI_UP, _PI_ONE = 3_141_592_653_589_793_238_462_643_383_280, 10**30

FAULT_WORDS = {
    "collar-narrow": later("the collar is narrower than the rule sheet asks"),
    "collar-short": later("the collar is cut shorter than the rule sheet asks for this girth"),
    "no-fingers": later("its fingers are not cut half the collar's width"),
    "not-taped-to-pipe": later("the collar is not taped to what it wraps"),
    "not-taped-to-film": later("the collar is not taped to the film"),
    "tape-narrow": later("the tape is narrower than the rule sheet asks"),
    "too-large-for-mastic": later("it is too large to seal with mastic and wants a collar"),
    "hole-not-close": later("the hole in the film is not cut just big enough"),
    "dam-for-one": later("sealant in a dam is for several that stand close, and this is one alone"),
    "one-collar-for-several": later(
        "one collar round several leaves gaps between them: they want sealant in a dam"
    ),
    "not-cleaned": later("the film was not cleaned"),
    "not-dry": later("the film was not dry"),
    "too-cold": later("the film was colder than the rule sheet allows for tape and sealant"),
    "no-such-seal": later("this way of sealing does not count"),
    "nothing-inside": later("there is nothing placed on the sketch that this seal goes round"),
}


@dataclass(frozen=True, slots=True)
class CollarNeed:
    """The least collar: how wide, how long, how deep its fingers; and whether mastic may do instead (nm)."""

    width_nm: int
    length_nm: int
    finger_nm: int
    mastic_allowed: bool


@lru_cache(maxsize=8192)
def girth_nm(outline: Outline) -> int:
    """How long a tape drawn tight round the outline is, in nanometres, never rounded down."""
    if isinstance(outline, Circle):
        return -(-outline.diameter_nm * _PI_UP // _PI_ONE)
    if not isinstance(outline, Polygon):
        length, width, _ = sides_and_angle(outline)
        return 2 * (length + width)
    hull = shapely.get_coordinates(shapely.MultiPoint(outline.points).convex_hull)
    ring = [(int(x), int(y)) for x, y in (*hull, hull[0])]
    # Each side's root is taken up at its 2**-20 nm, so that many sides do not add up to much.
    squares = [(p - x) ** 2 + (q - y) ** 2 for (x, y), (p, q) in pairwise(ring)]
    return -(-sum(math.isqrt((square << 40) - 1) + 1 for square in squares if square) >> 20)


def collar_need(outline: Outline, numbers: Numbers) -> CollarNeed:
    """The collar a zone's numbers ask round this outline. Width 12 in, length 1.5 girths and fingers half the
    width are common practice, no source."""
    return CollarNeed(
        numbers.collar_width_nm,
        _length(outline, numbers),
        half_collar_nm(numbers),
        _mastic_may(outline, numbers.mastic_up_to_nm),
    )


def _length(outline: Outline, numbers: Numbers) -> int:
    return -(-girth_nm(outline) * numbers.collar_length_thousandths // 1000)


def half_collar_nm(numbers: Numbers) -> int:
    """Half a collar's width, rounded up: how deep its fingers are cut and how far they lie on the film."""
    return -(-numbers.collar_width_nm // 2)


def _mastic_may(outline: Outline, limit_nm: int) -> bool:
    """Whether no two places of the outline lie further apart than the limit, exactly; not at 0."""
    if limit_nm <= 0:
        return False
    if isinstance(outline, Circle):
        return outline.diameter_nm <= limit_nm
    if not isinstance(outline, Polygon):
        length, width, _ = sides_and_angle(outline)
        return length**2 + width**2 <= limit_nm**2
    pairs = combinations(outline.points, 2)
    return all((p - x) ** 2 + (q - y) ** 2 <= limit_nm**2 for (x, y), (p, q) in pairs)


def seal_faults(outlines: Sequence[Outline], seal: Seal, numbers: Numbers) -> tuple[str, ...]:
    """Why this seal does not seal what stands inside it (all the outlines sealed as one); empty when it does.

    The words for each code are in FAULT_WORDS.
    """
    if not outlines:
        return ("nothing-inside",)
    judged = _BY_METHOD.get(seal.method)
    checks = judged(outlines, seal, numbers) if judged else ((False, "no-such-seal"),)
    work = seal.work
    checks += (
        (work.cleaned, "not-cleaned"),
        (work.dry, "not-dry"),
        (work.film_mf is None or work.film_mf >= numbers.tape_mf, "too-cold"),
    )
    return tuple(fault for holds, fault in checks if not holds)


_Checks = tuple[tuple[bool, str], ...]


def _collar_checks(outlines: Sequence[Outline], seal: Seal, numbers: Numbers) -> _Checks:
    length = max(_length(outline, numbers) for outline in outlines)
    # One that is not to be found any more, or stands in another zone, was inside the collar all the same.
    alone = len(outlines) == 1 and len(set(seal.together)) <= 1
    return (
        (alone, "one-collar-for-several"),
        (seal.collar_width_nm >= numbers.collar_width_nm, "collar-narrow"),
        (seal.collar_length_nm >= length, "collar-short"),
        (seal.fingers, "no-fingers"),
        (seal.taped_to_pipe, "not-taped-to-pipe"),
        (seal.taped_to_film, "not-taped-to-film"),
        (seal.work.tape_width_nm >= numbers.tape_width_nm, "tape-narrow"),
    )


def _mastic_checks(outlines: Sequence[Outline], seal: Seal, numbers: Numbers) -> _Checks:
    small = all(_mastic_may(outline, numbers.mastic_up_to_nm) for outline in outlines)
    return (small, "too-large-for-mastic"), (seal.close_cut, "hole-not-close")


def _dam_checks(outlines: Sequence[Outline], seal: Seal, numbers: Numbers) -> _Checks:
    return (len(outlines) > 1, "dam-for-one"), (seal.close_cut, "hole-not-close")


_BY_METHOD: dict[str, Callable[[Sequence[Outline], Seal, Numbers], _Checks]] = {
    COLLAR: _collar_checks,
    MASTIC: _mastic_checks,
    DAM: _dam_checks,
}


def row_of(first: Px, last: Px, count: int) -> tuple[Px, ...]:
    """So many places evenly from the first to the last, both among them. ValueError says what is wrong."""
    if not LEAST_ROW <= count <= LONGEST_ROW:
        raise ValueError(tr("A row holds {least} to {most}.", least=LEAST_ROW, most=LONGEST_ROW))
    gaps = count - 1
    row = tuple((_part(first[0], last[0], i, gaps), _part(first[1], last[1], i, gaps)) for i in range(count))
    if len(set(row)) < count:
        raise ValueError(tr("The first and the last of a row stand too close together for so many."))
    return row


def _part(start: int, end: int, i: int, gaps: int) -> int:
    """The whole number nearest to i of so many equal steps from start to end."""
    return (2 * (start * (gaps - i) + end * i) + gaps) // (2 * gaps)


def row_spaced(first: Px, last: Px, spacing_nm: int, nm_per_px: float) -> tuple[Px, ...]:
    """Places from the first toward the last at this spacing, as many as fit before it or on it.

    On it: no more than 1/16 in past. ValueError says what is wrong.
    """
    if spacing_nm <= 0:
        raise ValueError(tr("Say how far apart they stand."))
    if first == last:
        raise ValueError(tr("A row needs a first place and a last one apart from it."))
    whole = math.dist(first, last) * nm_per_px / 1000
    count = math.floor((whole + SIXTEENTH_NM) / spacing_nm) + 1
    if count < LEAST_ROW:
        raise ValueError(tr("The row is shorter than the spacing: it holds one."))
    if count > LONGEST_ROW:
        told = tr(
            "That row would hold {count}; a row holds at most {most}.", count=f"{count:,}", most=LONGEST_ROW
        )
        raise ValueError(told)
    each = spacing_nm / whole
    (x, y), (p, q) = first, last
    row = tuple((round(x + (p - x) * each * i), round(y + (q - y) * each * i)) for i in range(count))
    if len(set(row)) < count:
        raise ValueError(tr("They stand too close together to be told apart on this sketch."))
    return row


def too_large_to_cut(
    outline: Outline, numbers: Numbers, roll_width_nm: int, roll_length_nm: int
) -> str | None:
    """Why no one piece for this collar can be cut from the roll, along or across; None when it can."""
    need = collar_need(outline, numbers)
    short, long = sorted((need.width_nm, need.length_nm))
    across, along = sorted((roll_width_nm, roll_length_nm))
    if long > along:
        return tr("The collar it needs is longer than the roll: no one piece can be cut for it.")
    if short > across:
        return tr("The collar it needs is wider than the roll: no one piece can be cut for it.")
    return None
