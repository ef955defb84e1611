"""A mark that one good patch seals is judged by fewer steps than others, and never otherwise."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from service.domain.nouns.rules import ready_made
from service.domain.patches import overlap, repair
from service.domain.patches.overlap import Overlap, Piece
from service.domain.patches.repair import (
    ACCEPTED,
    LATE,
    MENDED_BY,
    NO_LOOK,
    REFUSED,
    SEALED,
    DefectFacts,
    LookFacts,
    Numbers,
    PatchFacts,
    RepairFacts,
    Verdict,
    judge_defect,
)
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Sides, Slit

INCH = 25_400_000
Told = tuple[Verdict, tuple[int, int] | None, str | None]


def often(draw: random.Random) -> bool:
    return draw.random() < 0.95


def a_damage(draw: random.Random) -> Outline:
    length, angle = draw.randint(1, 9) * INCH, draw.randint(0, 179) * 1_000_000
    width = draw.randint(1, 4) * INCH
    triangle = Polygon(((-2 * INCH, -INCH), (3 * INCH, -INCH), (0, 2 * INCH + draw.randint(0, 9))))
    shapes: list[Outline] = [
        Circle(length), Rectangle(length, width, angle), Slit(length, 0, angle), triangle,
    ]  # fmt: skip
    return draw.choice(shapes)


def a_reading(draw: random.Random) -> int:
    return draw.randint(95, 99) * INCH // 16


def a_piece(draw: random.Random) -> Piece:
    """Tape readings round the minimum mostly; a side at a wall now and then, but never all four."""
    if draw.random() < 0.6:
        left, right, near = (None if draw.random() < 0.08 else a_reading(draw) for _ in range(3))
        return Piece(
            sides=Sides(
                left,
                right,
                near,
                a_reading(draw),
                draw.choice([0, 90_000_000, draw.randint(-89, 90) * 1_000_000]),
            )
        )
    size = draw.randint(13, 24) * INCH
    films: list[Outline] = [Circle(2 * size), Rectangle(size, 20 * INCH, draw.randint(0, 179) * 1_000_000)]
    return Piece(draw.choice(films), (draw.choice([0, INCH]), 0))


def a_patch(draw: random.Random, number: int) -> PatchFacts:
    look = LookFacts(draw.choices((NO_LOOK, ACCEPTED, REFUSED, LATE), (8, 3, 1, 1))[0])
    return PatchFacts(
        f"p{number}", a_piece(draw), often(draw), often(draw), often(draw), draw.choice([3, 4, 4, 4]) * INCH,
        draw.choices(["sheet patch", "tape only", "mastic"], [8, 1, 1])[0], often(draw),
        draw.choice([None, None, 30_000, 60_000]), draw.choices([True, None, False], [8, 1, 1])[0],
        often(draw), () if often(draw) else ("B-09",), look,
    )  # fmt: skip


def a_mark(draw: random.Random) -> DefectFacts:
    patches = tuple(a_patch(draw, number) for number in range(draw.choice([0, 1, 1, 1, 1, 1, 2])))
    replaced = RepairFacts(
        "r", "replace sheet", 6 * INCH, True, True, True, 4 * INCH, None, True, LookFacts()
    )
    return DefectFacts(
        "d", "B-01", draw.choice(["hole", "tear", *MENDED_BY]), (0, 0), a_damage(draw), patches,
        (replaced,) if draw.random() < 0.1 else (), () if often(draw) else ("P-01",), draw.random() < 0.5,
        refused=not often(draw),
    )  # fmt: skip


def looked_up(damage: Outline, pieces: tuple[Piece, ...], minimum_nm: int) -> Overlap:
    return overlap._judged(damage, tuple(sorted(set(pieces), key=repr)), minimum_nm)


def told(mark: DefectFacts, numbers: Numbers) -> Told:
    """How it stands, and where and on which side it is nearest: the overlap does not compare these."""
    verdict = judge_defect(mark, numbers)
    reach = verdict.overlap
    return verdict, None if reach is None else reach.nearest, None if reach is None else reach.side


def test_four_thousand_marks_are_judged_alike_by_every_step(monkeypatch: pytest.MonkeyPatch) -> None:
    draw, marks = random.Random(11), []
    sheet = Numbers.of(ready_made("us"))
    for _ in range(4_000):
        demands = draw.choice([(), ("film",)])
        methods = draw.choice([("sheet patch",), ("sheet patch", "tape only"), ("tape only",)])
        marks.append((a_mark(draw), replace(sheet, gate_demands=demands, repair_methods=methods)))
    short = [told(mark, numbers) for mark, numbers in marks]
    monkeypatch.setattr(repair, "_sealed_by", lambda *_: None)
    monkeypatch.setattr(repair, "judge", looked_up)
    assert [told(mark, numbers) for mark, numbers in marks] == short
    sealed = sum(verdict.state == SEALED for verdict, *_ in short)
    assert 400 < sealed < 3_600, "some are sealed and some are not"
