"""Marks and patches for the two judges, seeded: at the rule, just under it, turned, several, badly made."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from random import Random

from service.domain.nouns.rules import SHEET_PATCH, TAPE_ONLY, ready_made
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import DefectFacts, LookFacts, Numbers, PatchFacts
from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Point,
    Polygon,
    Rectangle,
    Sides,
    Slit,
    cut_size,
    least_rectangle,
    sides_as_rectangle,
)
from service.domain.shapes.sides import side_angle
from service.domain.words.measures import turn

INCH = 25_400_000
SIXTEENTH = INCH // 16
NUMBERS = Numbers.of(ready_made("us"))
LOTS = {"a-1": True, "b-2": False, "c-3": None}


@dataclass(frozen=True)
class Case:
    """One mark with what lies on it; the last patch is the one being logged. `family` says what it tries."""

    family: str
    damage: Outline
    pieces: tuple[Piece, ...]
    minimum_nm: int
    allowance_nm: int = INCH
    work: tuple[PatchFacts, ...] = ()
    numbers: Numbers = NUMBERS
    kind: str = "tear"
    refused: bool = False
    collars: tuple[str, ...] = ()
    lot: str = ""

    def facts(self) -> DefectFacts:
        """The mark as the gate reads it once the patch is logged."""
        return DefectFacts(
            "m", "B-01", self.kind, (0, 0), self.damage, self.work, (), self.collars, False, (), self.refused
        )


def cases(seed: int, many: int) -> list[Case]:
    """So many cases, every family in its turn."""
    rng = Random(seed)
    families = [family(rng) for family in FAMILIES]
    turns = (next(family) for _ in range(many) for family in families)
    return list(islice(turns, many))


# --- what they are made of ----------------------------------------------------------------------------------


def _length(rng: Random, least: int, most: int) -> int:
    """In sixteenths of an inch or millimetres, as a crew reads; now and then to the nanometre."""
    step = rng.choice((SIXTEENTH, SIXTEENTH, 1_000_000, 1))
    return max(1, rng.randint(least, most) // step * step)


def _angle(rng: Random) -> int:
    """Micro-degrees: right angles often, whole degrees, tenths, and any at all."""
    return rng.choice((0, 90, 180, 270, 45, rng.randrange(360))) * 1_000_000 + rng.choice(
        (0, 0, 100_000, rng.randrange(1_000_000))
    )


def _minimum(rng: Random) -> int:
    return rng.choice((6 * INCH, 6 * INCH, 4 * INCH, 12 * INCH, 150_000_000))


def _around(rng: Random, corners: int, least: int, most: int) -> Polygon:
    """A shape that does not cross itself: corners in order round the centre, not always hollow-free."""
    turns = sorted(rng.uniform(0, 2 * math.pi / corners) + 2 * math.pi * i / corners for i in range(corners))
    far = [rng.uniform(least, most) for _ in turns]
    return Polygon(
        tuple((round(r * math.cos(a)), round(r * math.sin(a))) for r, a in zip(far, turns, strict=True))
    )


def damage_of(rng: Random) -> Outline:
    length, width = _length(rng, INCH // 8, 12 * INCH), _length(rng, INCH // 8, 6 * INCH)
    return rng.choice((
        Circle(length),
        Rectangle(length, width, _angle(rng)),
        Rectangle(width, length, _angle(rng)),
        Slit(length, rng.choice((0, INCH // 8, width // 4)), _angle(rng)),
        _around(rng, rng.randrange(3, 9), INCH, 6 * INCH),
    ))  # fmt: skip


def sides_of(read: Sequence[int | None], angle: int) -> Sides:
    left, right, near, far = read
    return Sides(left, right, near, far, angle)


def _near(rng: Random, most: int) -> Point:
    x, y = (_length(rng, 1, most) * rng.choice((-1, 1)) for _ in "xy")
    return x, y


def _moved(u: float, v: float, angle: int) -> Point:
    """A move along a frame turned by the angle, in the sketch's own."""
    c, s = turn(angle)
    return round(u * c - v * s), round(u * s + v * c)


# --- the families -------------------------------------------------------------------------------------------


def readings(rng: Random) -> Iterator[Case]:
    """Four readings as the tape gives them: at the rule, a sixteenth under, with walls, round any damage."""
    while True:
        damage, minimum = damage_of(rng), _minimum(rng)
        some = (
            minimum,
            minimum,
            minimum - SIXTEENTH,
            minimum - 1,
            minimum + SIXTEENTH,
            0,
            _length(rng, 1, 2 * minimum),
        )
        read: list[int | None] = [rng.choice(some) for _ in range(4)]
        if rng.random() < 0.4:
            for side in rng.sample(range(4), rng.choice((1, 1, 2, 3))):
                read[side] = None
        given = None if isinstance(damage, Rectangle | Slit) else _angle(rng)
        yield Case("readings", damage, (Piece(sides=sides_of(read, side_angle(damage, given))),), minimum)


def at_the_rule(rng: Random) -> Iterator[Case]:
    """The cut size laid true, in every rotation: exactly at the rule, and 1/16 in or a nanometre less."""
    while True:
        damage, minimum = damage_of(rng), _minimum(rng)
        less = rng.choice((0, 0, SIXTEENTH, 1, -1))
        length, width, angle = cut_size(damage, minimum)
        if isinstance(damage, Circle):
            angle = _angle(rng)
        patch: Outline = Rectangle(
            length - 2 * less, width, (angle + rng.choice((0, 180_000_000))) % 360_000_000
        )
        if rng.random() < 0.2:
            patch = Rectangle(width, length - 2 * less, (angle + 90_000_000) % 360_000_000)
        if isinstance(damage, Circle) and rng.random() < 0.5:
            patch = Circle(damage.diameter_nm + 2 * (minimum - less))
        yield Case(
            "at the rule",
            damage,
            (Piece(patch, (0, 0) if not isinstance(damage, Polygon) else _middle(damage, angle)),),
            minimum,
        )


def _middle(damage: Outline, angle: int) -> Point:
    """Where the least rectangle's middle lies."""
    return sides_as_rectangle(damage, Sides(0, 0, 0, 0, angle))[1]


def moved_to_the_rule(rng: Random) -> Iterator[Case]:
    """A wider patch laid off the middle until one side has just the rule, turned: the tolerance decides."""
    while True:
        damage, minimum = damage_of(rng), _minimum(rng)
        length, width, angle = least_rectangle(damage)
        angle = _angle(rng) if isinstance(damage, Circle) else angle
        more, less = _length(rng, 0, 6 * INCH), rng.choice((0, 0, SIXTEENTH))
        patch = Rectangle(length + 2 * (minimum + more), width + 2 * (minimum + more), angle % 360_000_000)
        x, y = _moved(*rng.choice(((more + less, 0), (-more - less, 0), (0, more + less))), angle)
        mx, my = _middle(damage, angle)
        yield Case("moved to the rule", damage, (Piece(patch, (mx + x, my + y)),), minimum)


def by_size(rng: Random) -> Iterator[Case]:
    """Any shape of patch anywhere near, damage showing too."""
    while True:
        damage, minimum = damage_of(rng), _minimum(rng)
        offset = rng.choice(((0, 0), (_length(rng, 1, 5 * INCH), -_length(rng, 1, 5 * INCH))))
        yield Case("by size", damage, (Piece(_patch(rng, minimum), offset),), minimum)


def _patch(rng: Random, minimum: int) -> Outline:
    length, width = (_length(rng, minimum // 2, 4 * minimum) for _ in range(2))
    return rng.choice((
        Circle(length),
        Rectangle(length, width, _angle(rng)),
        Slit(length, rng.choice((0, width // 2)), _angle(rng)),
        _around(rng, rng.randrange(3, 10), minimum, 3 * minimum),
    ))  # fmt: skip


def several(rng: Random) -> Iterator[Case]:
    """Two to four pieces of any shape, some of no breadth, some read: what laps far enough counts as one."""
    while True:
        damage, minimum = damage_of(rng), _minimum(rng)
        pieces = [Piece(_patch(rng, minimum), _near(rng, 2 * minimum)) for _ in range(rng.randrange(2, 5))]
        if rng.random() < 0.4:
            read = [_length(rng, 1, 2 * minimum) for _ in range(4)]
            read[2:] = rng.choice((read[2:], [0, 0]))
            left = rng.choice((None, read[0]))
            pieces[0] = Piece(sides=sides_of([left, *read[1:]], side_angle(damage)))
        yield Case("several", damage, tuple(pieces), minimum)


def lapped_strips(rng: Random) -> Iterator[Case]:
    """Two strips over one slit, in line, that lap by just the rule or 1/16 in less, in every rotation.

    Nothing about them is even-sided, so that one side alone is the nearest.
    """
    while True:
        minimum, angle, long = _minimum(rng), _angle(rng), _length(rng, 20 * INCH, 60 * INCH)
        damage = Slit(long, rng.choice((0, INCH // 4)), angle)
        lap = minimum - rng.choice((0, 0, SIXTEENTH, -SIXTEENTH))
        left, right = -long // 2 - minimum - rng.choice((0, INCH)), long // 2 + minimum + INCH // 2
        meet, wide = rng.randint(long // 20, long // 8) // 2 * 2, 2 * (minimum + INCH)
        pieces = []
        for start, end in ((left, meet + lap // 2), (meet - lap // 2, right)):
            way = rng.choice((angle, (angle + 180_000_000) % 360_000_000))
            middle = _moved((start + end) / 2, INCH / 4, angle)
            pieces.append(Piece(Rectangle(end - start, wide, way), middle))
        if rng.random() < 0.3:
            pieces.append(Piece(Circle(3 * minimum), _moved(long / 2, INCH, angle)))
        yield Case("lapped strips", damage, tuple(pieces), minimum)


def worked(rng: Random) -> Iterator[Case]:
    """How it was made: cleaned, dry, taped, how wide and warm, of which lot, over what lies there already."""
    while True:
        damage, minimum = damage_of(rng), 6 * INCH
        numbers = replace(
            NUMBERS,
            patch_overlap_nm=minimum,
            tape_mf=rng.choice((NUMBERS.tape_mf, 40_000)),
            gate_demands=rng.choice((("film",), ())),
            repair_methods=rng.choice(((SHEET_PATCH,), (SHEET_PATCH, TAPE_ONLY))),
        )
        lot, work = "", []
        many = rng.choice((1, 1, 2, 3))
        for i in range(many):
            lot = rng.choice(("a-1", "A-1 ", "b-2", "c-3", "z-9", ""))
            read = [rng.choice((minimum, minimum + INCH, minimum - SIXTEENTH)) for _ in range(4)]
            piece = Piece(sides=sides_of(read, side_angle(damage)))
            work.append(
                _made(rng, str(i), piece, numbers, LOTS.get(lot.strip().lower()), looked=i < many - 1)
            )
        pieces = tuple(patch.piece for patch in work)
        kind = rng.choice(("tear", "hole", "tear", "short lap", "displaced sheet"))
        refused, collars = rng.random() < 0.1, ("B-P01",) if rng.random() < 0.1 else ()
        yield Case("worked", damage, pieces, minimum, INCH, tuple(work), numbers, kind, refused, collars, lot)


def _made(
    rng: Random, name: str, piece: Piece, numbers: Numbers, same: bool | None, *, looked: bool
) -> PatchFacts:

    def often() -> bool:
        return rng.random() < 0.9

    tape = numbers.tape_width_nm
    return PatchFacts(
        name, piece, often(), often(), often(), rng.choice((tape, tape, tape + INCH, tape - 1)),
        rng.choice((SHEET_PATCH, SHEET_PATCH, SHEET_PATCH, TAPE_ONLY)), walls_stand=True,
        film_mf=rng.choice((None, None, numbers.tape_mf, numbers.tape_mf - 1, 70_000)), same_material=same,
        look=LookFacts("refused", 1) if looked and rng.random() < 0.1 else LookFacts(),
    )  # fmt: skip


FAMILIES = (readings, at_the_rule, moved_to_the_rule, by_size, several, lapped_strips, worked)
