"""The campaigns behind tests/whole/test_races*.py, on both databases. With `-s` the counts come as they grow.

Two thousand races of a release with each change that can move its zone; a hundred of every two changes with
each other; a hundred of the start of a placing with each change.
"""

from __future__ import annotations

import random
import shutil
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import combinations_with_replacement
from pathlib import Path

import pytest

from service.actions.office.placing_start import start_placing
from service.domain.words.refusals import Refusal
from service.history.facts.entries import Entry
from service.history.facts.placing import PlacingStarted
from service.history.replay.replay import apply
from service.history.replay.standing import READY, standing_of
from service.storage.doors.database import Database
from service.storage.upkeep.moving import carry_over
from tests import postgres
from tests.whole.conftest import copies, ground, ground_template
from tests.whole.race_ground import Copies, Ground, lay_out
from tests.whole.racing import (
    CHANGES,
    Tally,
    Trouble,
    after,
    at_once,
    put_back,
    race_all,
    ready_though_held,
    site_of,
    tables_differ,
    wrong_in,
)

__all__ = ["copies", "ground", "ground_template"]
ROUNDS, OTHERS = 2_000, 100
LOOK_EVERY = 20  # copies: what the history says is read on each, what the tables say on some


def test_two_thousand_releases_race_every_change(copies: Copies, engine: str) -> None:
    tallies: dict[str, Tally] = {}
    for seed in range(ROUNDS):
        with copies.copy() as (one, other):
            assert race_all(one, other, copies.ground, 10_000 + seed, tallies) == []
            entries = after(one, copies.ground)
            assert wrong_in(copies.ground, entries) == []
            if seed % LOOK_EVERY == 0:
                assert ready_though_held(one, copies.ground) == []
                assert not tables_differ(one, copies.ground, entries)
        if seed % 50 == 49:
            released = sum(tally.released for tally in tallies.values())
            print(f"{engine}: {seed + 1} races a pair, {released} released, 0 wrong", flush=True)
    for name, tally in tallies.items():
        print(f"{engine}: {name}: {tally}")
        assert 0 < tally.released < ROUNDS, f"one side won every race: {name}"


def test_a_hundred_races_of_every_two_changes(copies: Copies, engine: str) -> None:
    # What reaches past its plot is raced with a release alone: here it would decide every race beside it.
    names = list(CHANGES)[:-3]
    pairs = list(combinations_with_replacement(names, 2)) * OTHERS
    size = len(copies.ground.plots)
    for number in range(0, len(pairs), size):
        some = pairs[number : number + size]
        with copies.copy() as (one, other):
            for (first, second), plot in zip(some, copies.ground.plots, strict=False):
                acts = (
                    partial(CHANGES[first], one.fresh(), copies.ground, plot),
                    partial(CHANGES[second], other.fresh(), copies.ground, plot),
                )
                gave = at_once(acts, random.Random(f"{first} {second} {number}"))
                assert not any(isinstance(each, Trouble) for each in gave), (first, second, gave)
                assert not all(isinstance(each, Refusal) for each in gave), (first, second, gave)
            entries = after(one, copies.ground)
            assert wrong_in(copies.ground, entries) == [] and done_twice(entries) == []
            if number % (size * LOOK_EVERY) == 0:
                assert not tables_differ(one, copies.ground, entries)
        if number % (size * 50) == 0:
            print(f"{engine}: {number + len(some)} races of two changes", flush=True)


def done_twice(entries: Sequence[Entry]) -> list[str]:
    """What was withdrawn twice over. Two who withdraw the same at once: one does."""
    counted = Counter(entry.fact for entry in entries if entry.type.endswith("withdrawn"))
    return [fact.type for fact, count in counted.items() if count > 1]


@pytest.fixture(scope="session")
def released(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Ground:
    """The same plots, all of them ready to place."""
    folder = tmp_path_factory.mktemp("released")
    shutil.copy(migrated_file, folder / "laptight.sqlite3")
    return lay_out(folder, len(CHANGES), released=True)


@pytest.fixture
def ready(engine: str, released: Ground, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Copies]:
    if engine == "sqlite":
        yield Copies(released, tmp_path)
        return
    server: postgres.Server = request.getfixturevalue("server")
    name = server.create(request.getfixturevalue("migrated_template"))
    source = Database.at(released.folder / "laptight.sqlite3")
    target = Database(server.url(name), source.keys)
    carry_over(source, target)
    for database in (source, target):
        database.close()
    yield Copies(released, tmp_path, server, name)


def test_a_hundred_starts_of_a_placing_race_every_change(ready: Copies, engine: str) -> None:
    names, begun = list(CHANGES)[:-3], 0
    lead = ready.ground.cast.lead.id
    for seed in range(OTHERS):
        with ready.copy() as (one, other):
            for name, plot in zip(names, ready.ground.plots, strict=False):
                acts = (
                    partial(start_placing, one.fresh(), lead, plot.zone.id),
                    partial(CHANGES[name], other.fresh(), ready.ground, plot),
                )
                gave = at_once(acts, random.Random(f"{name} {seed}"))
                assert not any(isinstance(each, Trouble) for each in gave), (name, gave)
                put_back(other.fresh(), ready.ground, name)
            entries = after(one, ready.ground)
            assert wrong_starts(ready.ground, entries) == []
            begun += sum(isinstance(entry.fact, PlacingStarted) for entry in entries)
    print(f"{engine}: {OTHERS} starts against each of {len(names)} changes, {begun} begun")
    assert 0 < begun < OTHERS * len(names), "one side won every race"


def wrong_starts(ground: Ground, entries: Sequence[Entry]) -> list[str]:
    """Placings that began where the zone was not ready to place just before."""
    site, found = site_of(ground), list[str]()
    for entry in entries:
        if isinstance(entry.fact, PlacingStarted):
            standing = standing_of(site, entry.fact.zone)
            if standing.state != READY or standing.release is None:
                found.append(f"{entry.seq} zone {entry.fact.letter} was {standing.state}")
        apply(site, entry)
    return found
