"""Two people at once: no release is ever recorded against facts that had moved, whoever was first.

Every change that can move a clear zone is let go from one barrier with its release, each on a connection of
another program. Afterwards the history is replayed: at every release the facts just before it must have the
digest it names, the gate must find nothing, and who gave it must be allowed to. The controls take the
protection away and must be caught. tests/long runs each pair two thousand times.
"""

from __future__ import annotations

import pytest

from service.actions.frame.reading import zone_view
from service.domain.words.refusals import Refusal
from service.history.replay.standing import CLEAR
from tests.whole.race_ground import Copies
from tests.whole.racing import (
    CHANGES,
    Tally,
    Unprotected,
    after,
    no_protection,
    put_back,
    race_all,
    ready_though_held,
    releasing,
    tables_differ,
    wrong_in,
)

ROUNDS = 3


def test_every_change_by_itself_keeps_the_release_that_was_about_to_be_given_away(copies: Copies) -> None:
    """Without this a race could be run against something that moves nothing."""
    with copies.copy() as (desk, other):
        for (name, change), plot in zip(CHANGES.items(), copies.ground.plots, strict=True):
            assert zone_view(desk, copies.ground.cast.inspector.id, plot.zone.id).standing.state == CLEAR
            release_it = releasing(desk, copies.ground, plot)
            change(other, copies.ground, plot)
            with pytest.raises(Refusal):
                release_it()
            put_back(other, copies.ground, name)
        assert wrong_in(copies.ground, after(desk, copies.ground)) == []


def test_a_release_races_every_change_and_the_history_stays_true(copies: Copies) -> None:
    tallies: dict[str, Tally] = {}
    for seed in range(ROUNDS):
        with copies.copy() as (one, other):
            assert race_all(one, other, copies.ground, seed, tallies) == []
            entries = after(one, copies.ground)
            assert wrong_in(copies.ground, entries) == []
            assert ready_though_held(one, copies.ground) == []
            assert not tables_differ(one, copies.ground, entries)
    rounds, released = ROUNDS * len(CHANGES), sum(tally.released for tally in tallies.values())
    assert 0 < released < rounds, f"one side won every race: {released} of {rounds} were released"


def test_the_same_races_without_the_protection_are_caught(copies: Copies) -> None:
    """The control: what a release rests on is read before the head is locked, and is old when written."""
    found: list[str] = []
    with no_protection():
        for seed in range(20):
            with copies.copy(Unprotected) as (one, other):
                race_all(one, other, copies.ground, seed, {})
                found += wrong_in(copies.ground, after(one, copies.ground))
            if found:
                break
    assert found, "the races have no teeth"
