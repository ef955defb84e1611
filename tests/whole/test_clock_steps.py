"""A clock that is set back and on again: order stays the history's, times never run back, verdicts stay.

The same work is done twice, once on a clock that goes on evenly and once on one that is set back and on by an
hour and by a day between any two steps. The clock is the one passed in; no process here reads another.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import patches
from service.actions.office import placing_start, release
from service.actions.sketches import zones
from service.actions.upkeep.checking import check_histories
from service.domain.nouns.site import Zone
from service.history.facts.facts import ZonePlaced, ZoneReleased
from service.history.facts.placing import PlacingStarted
from service.storage.history import books
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone
from tests.cast import Cast, Clock

HOUR, DAY = 3_600, 86_400
STEPS = {
    "back an hour and on again": (-HOUR, HOUR),
    "back a day and on again": (-DAY, DAY),
    "on a day and back again": (DAY, -DAY),
    "anyhow": (-DAY, HOUR, HOUR, -HOUR, DAY, DAY, -DAY),
}


def work(desk: Desk, cast: Cast, zone: Zone) -> Iterator[str]:
    """From the first mark to the placing, with a fall in between; the zone's state after each step."""
    by = cast.manager.id
    patched: list[str] = []

    def patch() -> None:
        patched.append(a_patch(desk, cast, a_mark(desk, cast, zone)).id)

    steps: tuple[Callable[[], object], ...] = (
        patch,
        lambda: a_walk(desk, cast, zone),
        lambda: a_release(desk, cast, zone),
        lambda: patches.withdraw_patch(desk, by, patched[0], "came off"),
        patch,
        lambda: a_mark(desk, cast, zone, (600, 300)),
        lambda: zones.hold_zone(desk, by, zone.id, "storm", "hail"),
    )
    for step in steps:
        step()
        yield zone_view(desk, by, zone.id).standing.state


def to_the_slab(desk: Desk, cast: Cast, zone: Zone) -> Iterator[str]:
    """A clear zone released, placing started and ended, each now."""
    steps: tuple[Callable[[], object], ...] = (
        lambda: a_walk(desk, cast, zone),
        lambda: a_release(desk, cast, zone),
        lambda: placing_start.start_placing(desk, cast.lead.id, zone.id),
        lambda: release.mark_placed(desk, cast.manager.id, zone.id),
    )
    for step in steps:
        step()
        yield zone_view(desk, cast.manager.id, zone.id).standing.state


def stepping(clock: Clock, states: Iterator[str], steps: tuple[int, ...]) -> list[str]:
    """The states, with the clock set by the next of these seconds before each step."""
    told: list[str] = []
    for seconds in itertools.cycle(steps):
        clock.go_on(seconds=seconds)
        if (state := next(states, "")) == "":
            return told
        told.append(state)
    raise AssertionError


@pytest.mark.parametrize("name", STEPS)
@pytest.mark.parametrize("job", [work, to_the_slab])
def test_a_clock_that_is_set_changes_no_verdict_and_no_time_runs_back(
    desk: Desk, cast: Cast, clock: Clock, name: str, job: Callable[[Desk, Cast, Zone], Iterator[str]]
) -> None:
    even = stepping(clock, job(desk, cast, a_zone(desk, cast, letter="B")), (60,))
    stepped = stepping(clock, job(desk, cast, a_zone(desk, cast, letter="C")), STEPS[name])
    assert stepped == even
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    times = [entry.at for entry in entries]
    assert times == sorted(times)
    assert check_histories(desk.fresh()).faults == ()


@pytest.mark.sqlite_only("it hangs on no database")
@pytest.mark.parametrize("name", STEPS)
def test_what_came_later_is_never_told_as_earlier(desk: Desk, cast: Cast, clock: Clock, name: str) -> None:
    """Concrete did not begin to come before the zone was released, nor was it in before it began."""
    stepping(clock, to_the_slab(desk, cast, a_zone(desk, cast)), STEPS[name])
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    released = next(e.at for e in entries if isinstance(e.fact, ZoneReleased))
    began = next(e.fact.started_at for e in entries if isinstance(e.fact, PlacingStarted))
    placed = next(e.fact.placed_at for e in entries if isinstance(e.fact, ZonePlaced))
    assert released <= began <= placed
