"""Zones with many marks for the benches: written as facts in one transaction, so that 1,000 take a second."""

from __future__ import annotations

import random
from collections.abc import Iterator

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.domain.nouns.site import Zone
from service.domain.shapes.outlines import Circle, Outline, Rectangle
from service.domain.shapes.sides import Sides
from service.history.facts.facts import DefectMarked, PatchLogged

INCH = 25_400_000


def mark_many(desk: Desk, by: str, zone: Zone, count: int, seed: int = 7) -> None:
    """`count` marks all over a four-cornered zone: two in five open, one in ten with a short patch, the rest
    sealed, as half way through the mending. `by`: who marks and mends."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone.id, "mark a defect")
        for fact in marks_and_patches(desk, zone, count, seed):
            record(desk, session, site, by, seen.role, fact)


def marks_and_patches(
    desk: Desk, zone: Zone, count: int, seed: int = 7, *, all_sealed: bool = False
) -> Iterator[DefectMarked | PatchLogged]:
    """What `mark_many` records, in order. `all_sealed`: a patch that is large enough on every mark."""
    draw = random.Random(seed)
    xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
    edge = 9_000  # keeps every mark's outline inside the zone
    for number in range(1, count + 1):
        mark = DefectMarked(
            desk.new_id(),
            zone.sketch_id,
            zone.id,
            f"{zone.letter}-{number:02d}",
            draw.choice(("hole", "tear", "burn")),
            (draw.randint(min(xs) + edge, max(xs) - edge), draw.randint(min(ys) + edge, max(ys) - edge)),
            _outline(draw),
            "by a bar chair" if number % 9 == 0 else "",
        )
        yield mark
        if all_sealed or draw.random() < 0.6:
            least = 92 if draw.random() < 1 / 6 and not all_sealed else 96  # sixteenths of an inch
            yield _patch(desk, draw, mark, least)


def _outline(draw: random.Random) -> Outline:
    if draw.random() < 0.5:
        return Circle(draw.randint(4, 40) * INCH // 16)
    return Rectangle(
        draw.randint(16, 96) * INCH // 16, draw.randint(4, 32) * INCH // 16, draw.randint(0, 11) * 15_000_000
    )


def _patch(desk: Desk, draw: random.Random, mark: DefectMarked, least: int) -> PatchLogged:
    left, right, near = (draw.randint(least, least + 32) * INCH // 16 for _ in range(3))
    sides = Sides(left, right, near, least * INCH // 16)
    shortest = min(reading for reading in sides.readings().values() if reading is not None)
    minimum = 6 * INCH
    return PatchLogged(
        patch=desk.new_id(), defect=mark.defect, zone=mark.zone, tag=mark.tag, at=mark.at, also=(),
        sides=sides, outline=None, offset=(0, 0), cleaned=True, dry=True, edges_taped=True,
        tape_width_nm=4 * INCH, method="sheet patch", lot="F-2207", film_temperature="", note="",
        overlap_nm=shortest, minimum_nm=minimum, meets=shortest >= minimum,
    )  # fmt: skip
