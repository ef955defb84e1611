"""A slice tells of its zone what the whole site tells: same facts, same digest, same blockers."""

from __future__ import annotations

import random

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import defects, patches
from service.domain.nouns.site import Defect, Zone
from service.history.replay.standing import standing_of
from service.storage.history import slices
from service.storage.history.seen import zone_seen_by
from tests.builders import WELL_MADE, a_mark, a_patch, a_sketch, a_walk, a_zone
from tests.cast import Cast

BAYS = ("A", "B", "C")


def three_bays(desk: Desk, cast: Cast) -> list[Zone]:
    """Three bays side by side, 40 px wide each, so that a large mark reaches two of them and a strip all."""
    sketch = a_sketch(desk, cast)
    lefts = {letter: 100 + 40 * place for place, letter in enumerate(BAYS)}
    return [
        a_zone(desk, cast, sketch, letter, [(x, 100), (x + 40, 100), (x + 40, 400), (x, 400)])
        for letter, x in lefts.items()
    ]


def work(desk: Desk, cast: Cast, bays: list[Zone], draw: random.Random) -> None:
    """Marks near the joints, patches over several of them, withdrawals: nothing tidy."""
    marks: list[Defect] = []
    for _ in range(18):
        place = draw.randrange(3)
        at = (draw.uniform(101, 139) + 40 * place, draw.uniform(110, 390))
        size = {"shape": "rectangle", "length": f"{draw.randint(2, 30)} in", "width": "2 in"}
        marks.append(a_mark(desk, cast, bays[place], at=at, outline=size))
    for mark in draw.sample(marks, 12):
        seen_from_it = zone_view(desk, cast.lead.id, mark.zone_id).site.defects
        also = draw.sample(sorted(set(seen_from_it) - {mark.id}), draw.randrange(4))
        film = {"shape": "rectangle", "length": f"{draw.randint(20, 60)} in", "width": "20 in"}
        a_patch(desk, cast, mark, {"outline": film, "also": also, **WELL_MADE})
    for mark in draw.sample(marks, 3):
        defects.withdraw_defect(desk, cast.manager.id, mark.id, "entered twice")
    for bay in bays:
        a_walk(desk, cast, bay)


@pytest.mark.parametrize("seed", range(6))
def test_a_zones_slice_stands_as_the_whole_site_does(desk: Desk, cast: Cast, seed: int) -> None:
    bays = three_bays(desk, cast)
    work(desk, cast, bays, random.Random(seed))
    with desk.reading() as session:
        whole = slices.whole_site(session, cast.project_id)
        by_sketch = slices.sketch_site(session, cast.project_id, bays[0].sketch_id)
        for bay in bays:
            seen = zone_seen_by(session, cast.lead.id, bay.id)
            slice_ = slices.zone_site(session, cast.project_id, seen.zone, seen.sketch, seen.project)
            told = [standing_of(site, bay.id) for site in (slice_, by_sketch, whole)]
            assert len({standing.digest for standing in told}) == 1, bay.letter
            assert told[0].blockers == told[1].blockers == told[2].blockers


def test_a_patch_logged_far_away_comes_with_the_mark_it_was_logged_on(desk: Desk, cast: Cast) -> None:
    """Its sides are told from that mark: without it the patch could not be seen from here."""
    bays = three_bays(desk, cast)
    across = {"shape": "rectangle", "length": "30 in", "width": "2 in"}
    near = a_mark(desk, cast, bays[0], at=(135, 200), outline=across)
    far = a_mark(desk, cast, bays[1], at=(175, 200))
    read = {"left": "8 ft", "right": "1 ft", "near": "1 ft", "far": "1 ft"}
    patches.log_patch(desk, cast.lead.id, far.id, {"sides": read, "also": [near.id], **WELL_MADE})
    with desk.reading() as session:
        seen = zone_seen_by(session, cast.lead.id, bays[0].id)
        slice_ = slices.zone_site(session, cast.project_id, seen.zone, seen.sketch, seen.project)
    assert far.id in slice_.defects
    assert standing_of(slice_, bays[0].id).verdicts[near.id].state == "sealed"
