"""Two people at once at the start of a placing: none ever begins where the zone was not ready just before."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.actions.frame.reading import zone_view
from service.actions.office import release
from service.actions.office.placing_start import start_placing
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.history.facts.placing import PlacingStarted
from service.history.replay.replay import apply, replay
from service.history.replay.standing import READY, standing_of
from service.storage.history import books, slices
from tests.builders import (
    HOLE,
    a_mark,
    a_patch,
    a_release,
    a_sketch,
    a_walk,
    a_zone,
    newest_release,
)
from tests.cast import Cast
from tests.whole.racing import Trouble, at_once

ROUNDS = 8
Change = Callable[[Desk, Cast, Zone], object]


def _mark(desk: Desk, cast: Cast, zone: Zone) -> object:
    x, y = zone.outline[0]
    return a_mark(desk, cast, zone, at=(x / 1000 + 150, y / 1000 + 150), kind="hole", outline=HOLE)


CHANGES: dict[str, Change] = {
    "a mark": _mark,
    "a pull-back": lambda desk, cast, zone: release.pull_back(desk, cast.manager.id, zone.id, "rain"),
    "a hold": lambda desk, cast, zone: zones.hold_zone(desk, cast.inspector.id, zone.id, "storm", "hail"),
}


def starts(desk: Desk, project_id: str) -> tuple[int, int]:
    """How many placings were begun, and how many of them where the zone was not ready by that release."""
    with desk.reading() as session:
        entries = books.entries(session, project_id)
    site, begun, wrong = replay(()), 0, 0
    for entry in entries:
        if isinstance(entry.fact, PlacingStarted):
            standing = standing_of(site, entry.fact.zone)
            by = standing.release.id if standing.release else ""
            begun += 1
            wrong += standing.state != READY or standing.placing is not None or by != entry.fact.release
        apply(site, entry)
    return begun, wrong


def a_ready_zone(desk: Desk, cast: Cast, sketch: str, number: int) -> Zone:
    """A zone of its own ground, so that no round's marks reach into another's."""
    x, y = 100 + number % 8 * 300, 100 + number // 8 * 300
    outline = [(x, y), (x + 200, y), (x + 200, y + 200), (x, y + 200)]
    zone = a_zone(desk, cast, sketch, chr(65 + number), outline)
    a_patch(desk, cast, a_mark(desk, cast, zone, at=(x + 50, y + 50)))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


@pytest.mark.parametrize("name", CHANGES)
def test_a_start_races_a_change_and_the_history_stays_true(desk: Desk, cast: Cast, name: str) -> None:
    sketch, draw = a_sketch(desk, cast), random.Random(name)
    for number in range(ROUNDS):
        zone = a_ready_zone(desk, cast, sketch, number)
        start = _started_by(desk.fresh(), cast.lead.id, zone)
        gave = at_once((start, _changed(desk.fresh(), cast, zone, CHANGES[name])), draw)
        assert not any(isinstance(each, Trouble) for each in gave), gave
    begun, wrong = starts(desk, cast.project_id)
    assert wrong == 0
    assert 0 < begun < ROUNDS, f"one side won every round: {begun} of {ROUNDS} were started"
    with desk.reading() as session:
        assert replay(books.entries(session, cast.project_id)) == slices.whole_site(session, cast.project_id)


def _started_by(desk: Desk, person: str, zone: Zone) -> Callable[[], object]:
    return lambda: start_placing(desk, person, zone.id)


def _changed(desk: Desk, cast: Cast, zone: Zone, change: Change) -> Callable[[], object]:
    return lambda: change(desk, cast, zone)


def test_of_two_who_start_at_once_one_does(desk: Desk, cast: Cast) -> None:
    sketch, draw = a_sketch(desk, cast), random.Random(5)
    for number in range(6):
        zone = a_ready_zone(desk, cast, sketch, number)
        two = tuple(_started_by(desk.fresh(), by, zone) for by in (cast.lead.id, cast.manager.id))
        gave = at_once(two, draw)
        assert not any(isinstance(each, Trouble) for each in gave), gave
    assert starts(desk, cast.project_id) == (6, 0)


def test_the_same_race_without_the_protection_is_caught(desk: Desk, cast: Cast) -> None:
    """The control: asked outside the write's transaction, the gate's answer is old when it is recorded."""
    zone = a_ready_zone(desk, cast, a_sketch(desk, cast), 0)
    made = newest_release(desk, cast, zone)
    assert zone_view(desk, cast.lead.id, zone.id).standing.state == READY
    _mark(desk, cast, zone)
    with desk.writing() as session:
        seen, site = zone_to_change(session, cast.lead.id, zone.id, "start placing")
        fact = PlacingStarted(zone.id, zone.letter, made.id, desk.clock())
        record(desk, session, site, cast.lead.id, seen.role, fact)
    assert starts(desk, cast.project_id) == (1, 1)
