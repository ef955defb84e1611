"""The demo: an invented site on which every state of a zone and every kind of reason can be looked at."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import pytest

from service.actions.demo import demo
from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ProjectView, project_view
from service.actions.office import projects, ready_lists
from service.actions.upkeep.checking import check_histories
from service.domain.gate import gate
from service.domain.nouns import roles
from service.domain.nouns.installed import COLLAR, DAM, MASTIC, REPLACE_SHEET
from service.history.replay.standing import Standing
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import books
from tests.cast import NOON, Clock


@dataclass(frozen=True)
class Filled:
    desk: Desk
    view: ProjectView
    ready: str

    def zone(self, letter: str) -> Standing:
        return next(standing for standing in self.view.standings if standing.zone.letter == letter)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Iterator[Filled]:
    """Filled once: nothing here changes it."""
    data = tmp_path_factory.mktemp("demo")
    shutil.copy(migrated_file, data / "laptight.sqlite3")
    database = Database.at(data / "laptight.sqlite3")
    desk = Desk(database, Blobs(data), Clock())
    told = demo.fill(desk.fresh())
    email = next(email for email, _, role in told.people if role == roles.PROJECT_MANAGER)
    token, _ = accounts.sign_in(desk.fresh(), email, demo.PASSWORD, "10.0.0.1")
    manager = accounts.person_for(desk.fresh(), token)
    assert manager is not None
    (project,) = projects.my_projects(desk.fresh(), manager.id)
    yield Filled(desk, project_view(desk.fresh(), manager.id, project.project.id), told.ready)
    database.close()


def test_its_zones_stand_in_five_states(filled: Filled) -> None:
    stand = {standing.zone.letter: standing.state for standing in filled.view.standings}
    assert stand == {
        "A": "placed",
        "B": "ready to place",
        "C": "held",
        "D": "clear",
        "E": "laying",
    }
    assert filled.zone("D").fallen


def test_the_held_zone_shows_every_kind_of_reason_that_can_stand_beside_the_others(filled: Filled) -> None:
    """All that the gate's own text can answer, less what contradicts the rest: with no scale nothing is
    placed, an unwalked zone is laying, none stated and no film logged are the opposite of what is shown."""
    there_are = set(re.findall(r'Blocker\("([a-z-]+)"', Path(gate.__file__).read_text()))
    there_are |= {"defect-open", "defect-not-sealed", "needs-other-repair"}
    cannot = {"no-scale", "not-walked", "none-stated", "film-not-logged", "cannot-be-checked"}
    assert cannot < there_are
    assert {blocker.code for blocker in filled.zone("C").blockers} == there_are - cannot


def test_between_them_its_zones_show_every_seal_a_cover_strip_a_replaced_sheet_and_causes(
    filled: Filled,
) -> None:
    site = filled.view.site
    seals = [pipe.seal for pipe in site.penetrations.values() if pipe.seal]
    assert {seal.method for seal in seals} == {COLLAR, MASTIC, DAM}
    assert any(len(seal.together) > 1 for seal in seals)
    assert any(pipe.seal is None for pipe in site.penetrations.values())
    repairs = [repair.method for mark in site.defects.values() for repair in mark.repairs]
    assert repairs == [REPLACE_SHEET]
    strips = [site.defects[patch.defect_id] for patch in site.patches.values()]
    assert any(mark.kind == "short lap" for mark in strips)
    assert len({mark.cause for mark in site.defects.values()} - {""}) >= 4
    looks = [look.accepted for patch in site.patches.values() for look in patch.looks]
    assert True in looks and False in looks


@pytest.mark.parametrize("letter", ["A", "B", "D"])
def test_hold_points_of_a_released_zone_are_all_signed_and_the_last_by_another_person(
    filled: Filled, letter: str
) -> None:
    standing = filled.zone(letter)
    assert all(step.met for step in standing.facts.steps)
    signed = standing.zone.signatures
    assert [s.step for s in signed] == [s for s in standing.facts.numbers.hold_points if "walk" not in s]
    patched = {p.by for p in filled.view.site.patches.values() if p.zone_id == standing.zone.id}
    assert signed[-1].signed.by not in patched


def test_its_ready_list_tells_the_one_zone_that_is_ready(filled: Filled) -> None:
    told = ready_lists.ready_list(filled.desk.fresh(), filled.ready)
    assert {zone.letter: zone.state for zone in told.zones} == {
        "A": "placed", "B": "ready to place", "C": "not ready", "D": "not ready", "E": "not ready",
    }  # fmt: skip


def test_its_history_replays_to_the_same_facts_in_order_and_ends_before_today(filled: Filled) -> None:
    assert check_histories(filled.desk.fresh()).faults == ()
    with filled.desk.fresh().reading() as session:
        times = [entry.at for entry in books.entries(session, filled.view.seen.project.id)]
    assert all(earlier <= later for earlier, later in pairwise(times))
    assert times[-1].date() < NOON.date()


def test_a_directory_that_has_people_is_left_alone(filled: Filled) -> None:
    before = filled.view.seen.head
    assert demo.fill(filled.desk.fresh()).ready == "", "the secret of its ready list was told once"
    manager = next(p for p, role in filled.view.names.items() if role == "Priya Novak")
    assert project_view(filled.desk.fresh(), manager, filled.view.seen.project.id).seen.head == before
