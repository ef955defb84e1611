"""Ready lists: what a link tells of every zone, from the facts as they are then, and when it stops."""

from __future__ import annotations

import hashlib
import random
import threading
import time
from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import event

from service.actions.closeout.certificates import certificate
from service.actions.entrance.accounts import token_sha256
from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.office import ready_lists, release
from service.actions.office.ready_lists import ReadyList, ReadyZone
from service.actions.sketches import zones
from service.actions.upkeep.checking import check_histories
from service.domain.nouns.site import Site, Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound, Refusal
from service.history.certificate.words import words_of
from service.history.facts.encoding import time_text
from service.history.replay.replay import replay
from service.history.replay.standing import READY, standing_of
from service.storage.history import books, slices
from tests.builders import HOLE, NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone
from tests.cast import NOON, Cast, Clock


def open_one(desk: Desk, cast: Cast, label: str = "ready-mix dispatcher") -> ready_lists.Opened:
    return ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, label)


def released(desk: Desk, cast: Cast, letter: str = "B") -> Zone:
    zone = a_zone(desk, cast, letter=letter)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def zone_in(told: ReadyList, letter: str = "B") -> ReadyZone:
    return next(zone for zone in told.zones if zone.letter == letter)


# --- the link --------------------------------------------------------------------------------------------


def test_a_link_holds_192_random_bits_and_only_their_hash_is_kept(desk: Desk, cast: Cast) -> None:
    """Base64 carries 6 bits a sign. Guessing one of a thousand links at a million tries a second for a
    thousand years finds it with a chance of 3e-38 (2**-192 * 1000 * 3.2e16)."""
    made = [open_one(desk, cast) for _ in range(3)]
    assert len({opened.token for opened in made}) == 3
    for opened in made:
        assert len(opened.token) * 6 >= 192
        assert opened.link.token_sha256 == hashlib.sha256(opened.token.encode()).hexdigest()
    with desk.reading() as session:
        kept = [content for content, _ in books.contents(session, cast.project_id)]
    told = b"\n".join(kept).decode()
    assert made[0].link.token_sha256 in told and made[0].token not in told


def test_opening_and_withdrawing_stand_in_the_history_and_replay_to_the_same_facts(
    desk: Desk, cast: Cast
) -> None:
    kept, gone = open_one(desk, cast), open_one(desk, cast, "concrete sub")
    ready_lists.withdraw_ready_list(desk, cast.manager.id, gone.link.id, "Sent astray")
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
        assert replay(entries) == slices.whole_site(session, cast.project_id)
    assert [entry.type for entry in entries][-3:] == ["ready-list-opened"] * 2 + ["ready-list-withdrawn"]
    assert check_histories(desk).faults == ()
    view = ready_lists.ready_lists_of(desk, cast.lead.id, cast.project_id)
    assert {(link.label, link.withdrawn) for link in view.links} == {
        ("ready-mix dispatcher", None), ("concrete sub", "Sent astray"),
    }  # fmt: skip
    assert ready_lists.ready_list(desk, kept.token).zones == ()


def test_a_withdrawn_link_answers_like_one_that_never_was_after_the_same_statements(
    desk: Desk, cast: Cast
) -> None:
    opened, asked = open_one(desk, cast), list[str]()
    ready_lists.withdraw_ready_list(desk, cast.manager.id, opened.link.id, "Sent astray")

    @event.listens_for(desk.database.engine, "before_cursor_execute")
    def _note(_: object, __: object, statement: str, *___: object) -> None:
        asked.append(statement)

    told = []
    for token in (opened.token, "never-was", "", "\ud800", opened.token + "A", opened.token[:-1]):
        for ask in (ready_lists.ready_list, ready_lists.version_of):
            asked.clear()
            with pytest.raises(NotFound) as refusal:
                ask(desk, token)
            told.append((refusal.value.message, refusal.value.code, tuple(asked)))
    assert len(set(told)) == 1


def test_a_link_is_found_by_nothing_but_its_secret(desk: Desk, cast: Cast) -> None:
    opened = open_one(desk, cast)
    for other in (opened.link.id, opened.link.token_sha256, token_sha256(opened.token), cast.project_id, "%"):
        with pytest.raises(NotFound):
            ready_lists.ready_list(desk, other)


def test_one_projects_link_tells_of_that_project_alone(desk: Desk, cast: Cast) -> None:
    released(desk, cast)
    theirs = ready_lists.open_ready_list(desk, cast.other_manager.id, cast.other_project_id, "concrete sub")
    told = ready_lists.ready_list(desk, theirs.token)
    assert (told.project_name, told.zones) == ("Another site", ())


@pytest.mark.parametrize("who", ["lead", "inspector"])
def test_nobody_but_a_project_manager_opens_or_withdraws_one(desk: Desk, cast: Cast, who: str) -> None:
    opened, by = open_one(desk, cast), getattr(cast, who).id
    with pytest.raises(NotAllowed):
        ready_lists.open_ready_list(desk, by, cast.project_id, "concrete sub")
    with pytest.raises(NotAllowed):
        ready_lists.withdraw_ready_list(desk, by, opened.link.id, "Mine now")
    assert ready_lists.ready_list(desk, opened.token).zones == ()


def test_another_projects_manager_finds_no_link_to_withdraw(desk: Desk, cast: Cast) -> None:
    opened = open_one(desk, cast)
    for link in (opened.link.id, "0" * 20):
        with pytest.raises(NotFound):
            ready_lists.withdraw_ready_list(desk, cast.other_manager.id, link, "Not mine")


def test_a_link_is_withdrawn_once_and_with_a_reason(desk: Desk, cast: Cast) -> None:
    opened = open_one(desk, cast)
    with pytest.raises(BadInput) as bad:
        ready_lists.withdraw_ready_list(desk, cast.manager.id, opened.link.id, "  ")
    assert list(bad.value.fields) == ["reason"]
    ready_lists.withdraw_ready_list(desk, cast.manager.id, opened.link.id, "Sent astray")
    with pytest.raises(Conflict) as again:
        ready_lists.withdraw_ready_list(desk, cast.manager.id, opened.link.id, "Again")
    assert again.value.code == "withdrawn-already"


@pytest.mark.parametrize("label", ["", "   ", "x" * 61, "lou.lead@example.com", "dispatch\x00er", "a\u202eb"])
def test_a_label_that_should_not_stand_in_the_history_for_ever_is_refused(
    desk: Desk, cast: Cast, label: str
) -> None:
    with pytest.raises(BadInput) as bad:
        open_one(desk, cast, label)
    assert list(bad.value.fields) == ["label"]


# --- what it tells ---------------------------------------------------------------------------------------


def test_laying_held_and_clear_are_one_to_a_placer_and_nothing_says_why(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    laying = a_zone(desk, cast, sketch, "B")
    clear = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_walk(desk, cast, clear)
    held = a_zone(desk, cast, sketch, "D", [(100, 800), (900, 800), (900, 1400)])
    a_walk(desk, cast, held)
    zones.hold_zone(desk, cast.lead.id, held.id, "storm", "Hail the size of bolts")
    states = {s.id: standing_of(_site(desk, cast), s.id).state for s in (laying, clear, held)}
    assert sorted(states.values()) == ["clear", "held", "laying"]
    told = ready_lists.ready_list(desk, open_one(desk, cast).token)
    assert [(z.letter, z.state, z.since, z.mark) for z in told.zones] == [
        (letter, "not ready", None, "") for letter in "BCD"
    ]


def _site(desk: Desk, cast: Cast) -> Site:
    with desk.reading() as session:
        return slices.whole_site(session, cast.project_id)


def test_a_released_zone_is_ready_since_its_release_under_the_mark_of_that_release(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    zone = released(desk, cast)
    token = open_one(desk, cast).token
    clock.go_on(minutes=30)
    told = ready_lists.ready_list(desk, token)
    first = zone_in(told)
    [only] = _site(desk, cast).releases.values()
    assert (first.state, first.since) == ("ready to place", NOON)
    digest = only.digest.partition(":")[2]
    assert first.mark == f"entry {only.seq}, {digest[:4]} {digest[4:8]}"
    certified = words_of(certificate(desk, cast.lead.id, only.id).found.told, time_text).signed
    [shown] = [row[1] for row in certified if row[0] == "Release mark"]
    assert shown.startswith(f"{first.mark}:")
    assert (told.asked_at, told.head_at) == (clock.now, NOON)
    assert told.head == only.seq + 2, "the certificate's checkpoint and the ready list came after it"
    release.pull_back(desk, cast.manager.id, zone.id, "rain")
    assert zone_in(ready_lists.ready_list(desk, token)).state == "not ready"
    a_release(desk, cast, zone)
    again = zone_in(ready_lists.ready_list(desk, token))
    assert (again.state, again.since) == ("ready to place", clock.now)
    assert again.mark != first.mark, "the same facts released again are another release"


def test_a_placed_zone_says_when_and_not_how(desk: Desk, cast: Cast) -> None:
    ready, bare = released(desk, cast), a_zone(desk, cast, letter="C")
    for zone in (ready, bare):
        release.mark_placed(desk, cast.manager.id, zone.id, NOON, "60 cu yd")
    told = ready_lists.ready_list(desk, open_one(desk, cast).token)
    assert {(zone.letter, zone.state, zone.since, zone.mark) for zone in told.zones} == {
        ("B", "placed", NOON, ""), ("C", "placed", NOON, ""),
    }  # fmt: skip


def test_zones_come_by_letter_with_their_area_and_the_one_taken_off_is_not_there(
    desk: Desk, cast: Cast
) -> None:
    sketch = a_sketch(desk, cast)
    for letter, outline in (("AA", NEXT_DOOR), ("C", [(100, 800), (900, 800), (900, 1400)])):
        a_zone(desk, cast, sketch, letter, outline)
    gone = a_zone(desk, cast, sketch, "B")
    zones.withdraw_zone(desk, cast.manager.id, gone.id, "Redrawn")
    told = ready_lists.ready_list(desk, open_one(desk, cast).token)
    assert [zone.letter for zone in told.zones] == ["C", "AA"]
    # 10 px to the foot: 80 by 60 ft, and half of that.
    assert [round((zone.area_m2 or 0) / 0.3048**2) for zone in told.zones] == [2400, 4800]


CHANGES: dict[str, Callable[[Desk, Cast, Zone], object]] = {
    "a mark": lambda desk, cast, zone: a_mark(desk, cast, zone),
    "a hold": lambda desk, cast, zone: zones.hold_zone(desk, cast.lead.id, zone.id, "frost", "White"),
    "a pull-back": lambda desk, cast, zone: release.pull_back(desk, cast.manager.id, zone.id, "rain"),
    "a neighbour's mark that reaches in": lambda desk, cast, zone: a_mark(
        desk, cast, a_zone(desk, cast, zone.sketch_id, "C", NEXT_DOOR), (901, 300)
    ),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_zone_whose_facts_move_is_not_ready_in_the_very_next_answer(
    desk: Desk, cast: Cast, name: str
) -> None:
    zone, token = released(desk, cast), open_one(desk, cast).token
    before, version = ready_lists.ready_list(desk, token), ready_lists.version_of(desk, token)
    assert zone_in(before).state == "ready to place" and before.version == version
    CHANGES[name](desk, cast, zone)
    after = ready_lists.ready_list(desk, token)
    assert zone_in(after).state == "not ready"
    assert after.version == ready_lists.version_of(desk, token) != version


def test_as_long_as_nothing_is_recorded_the_version_stays(desk: Desk, cast: Cast, clock: Clock) -> None:
    released(desk, cast)
    token = open_one(desk, cast).token
    first = ready_lists.ready_list(desk, token)
    clock.go_on(hours=5)
    second = ready_lists.ready_list(desk, token)
    assert second == replace(first, asked_at=clock.now)


# --- at once ---------------------------------------------------------------------------------------------


def readings_beside(desk: Desk, token: str, acts: list[Callable[[], object]]) -> list[ReadyList]:
    """What the list told, asked over and over while others act."""
    told, trouble, over = list[ReadyList](), list[BaseException](), threading.Event()

    def read() -> None:
        mine = desk.fresh()
        try:
            while not over.is_set():
                told.append(ready_lists.ready_list(mine, token))
        except BaseException as bad:
            trouble.append(bad)

    reading = threading.Thread(target=read)
    reading.start()
    try:
        for act in acts:
            try:
                act()
            except Refusal:
                continue
    finally:
        over.set()
        reading.join()
    assert not trouble, trouble
    return told


def untrue(desk: Desk, cast: Cast, told: list[ReadyList]) -> list[str]:
    """Readings that called a zone ready which was not as of the entry they name, by replay up to there."""
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    truth = {
        head: {z.letter for z in site.zones.values() if standing_of(site, z.id).state == READY}
        for head in {one.head for one in told}
        for site in [replay(entries[:head])]
    }
    return [
        f"zone {zone.letter} at entry {one.head}"
        for one in told
        for zone in one.zones
        if (zone.state == "ready to place") != (zone.letter in truth[one.head])
    ]


def coming_and_going(desk: Desk, cast: Cast, zone: Zone, rounds: int) -> list[Callable[[], object]]:
    """Released, damaged, mended and released again, over and over."""
    draw, mine = random.Random(rounds), desk.fresh()

    def damage() -> None:
        time.sleep(draw.uniform(0, 0.003))
        at = (200 + draw.randrange(500), 200 + draw.randrange(400))
        mark = a_mark(mine, cast, zone, at, "hole", HOLE)
        if draw.random() < 0.5:
            a_patch(mine, cast, mark)
        else:
            defects.withdraw_defect(mine, cast.lead.id, mark.id, "A shadow")

    return [act for _ in range(rounds) for act in (damage, lambda: a_release(mine, cast, zone))]


def test_the_list_never_calls_a_zone_ready_that_the_gate_holds_at_that_entry(desk: Desk, cast: Cast) -> None:
    zone, token = released(desk, cast), open_one(desk, cast).token
    told = readings_beside(desk, token, coming_and_going(desk, cast, zone, 12))
    assert untrue(desk, cast, told) == []
    assert {zone_in(one).state for one in told} == {"ready to place", "not ready"}, "both were seen"


def test_a_list_that_kept_what_it_had_worked_out_would_be_caught(
    desk: Desk, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The control: facts read once and kept tell of another entry than the one that is named."""
    zone, token = released(desk, cast), open_one(desk, cast).token
    with desk.reading() as session:
        stale = slices.judged_site(session, cast.project_id)
    monkeypatch.setattr(slices, "judged_site", lambda session, project: stale)
    told = readings_beside(desk, token, coming_and_going(desk, cast, zone, 3))
    assert untrue(desk, cast, [*told, ready_lists.ready_list(desk, token)])
