"""Many at the same moment: one key, one effect; one link, one person; every tag once, and none left out."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import httpx
import pytest

from service.actions.entrance import accounts
from service.actions.frame.once import once
from service.actions.frame.reading import zone_view
from service.actions.people import people
from service.domain.words.refusals import Refusal
from tests.whole.asking import CREW_LEAD, PROJECT_MANAGER, actor_of, shown_form
from tests.whole.routes import PATCH, TEAR
from tests.whole.stage import Stage

MARK = TEAR | {"x": "250", "y": "250", "kind": "tear"}


def all_at_once(count: int, ask: Callable[[int], httpx.Response]) -> list[httpx.Response]:
    """`count` requests let go together."""
    start = Barrier(count)

    def run(number: int) -> httpx.Response:
        start.wait()
        return ask(number)

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(run, range(count)))


def tags_of(stage: Stage, zone: str = "zone_id") -> list[str]:
    view = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids[zone])
    return [mark.tag for mark in view.defects()]


def test_twenty_sendings_of_one_form_mark_once(stage: Stage) -> None:
    path, before = f"/zones/{stage.ids['zone_id']}/mark", tags_of(stage)
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | MARK
        answers = all_at_once(20, lambda _: client.post(path, data=sent))
        after = client.post(path, data=sent)
    landed = {answer.headers["location"] for answer in answers if answer.status_code == 303}
    assert len(landed) == 1 and after.headers["location"] in landed
    for answer in answers:
        assert answer.status_code == 303 or "still being worked on" in answer.text
    assert tags_of(stage) == [*before, f"B-{len(before) + 1:02d}"]


def test_twenty_calls_under_one_key_log_one_patch(stage: Stage) -> None:
    path = f"/api/v1/defects/{stage.ids['defect_id']}/patches"
    sides = dict.fromkeys(("left", "right", "near", "far"), "6 in")
    body = {"sides": sides, "cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in"}
    with stage.client(actor_of(stage, CREW_LEAD), program=True) as program:
        key = {"Idempotency-Key": "tap"}
        answers = all_at_once(20, lambda _: program.post(path, json=body, headers=key))
    assert len({answer.content for answer in answers if answer.status_code == 201}) == 1
    assert {answer.status_code for answer in answers} <= {201, 409}
    view = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["zone_id"])
    assert len(view.patches_on(stage.ids["defect_id"])) == 1


def test_an_effect_without_its_key_would_land_twenty_times(stage: Stage) -> None:
    """The control: the checks above would see a second effect if there were one."""
    path, before = f"/zones/{stage.ids['zone_id']}/mark", tags_of(stage)
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | MARK
        answers = all_at_once(5, lambda n: client.post(path, data=sent | {"request_key": f"k{n}"}))
    assert len({answer.headers["location"] for answer in answers}) == 5
    assert len(tags_of(stage)) == len(before) + 5


def test_twenty_four_marks_from_four_browsers_get_the_tags_one_to_twenty_four(stage: Stage) -> None:
    path = f"/zones/{stage.ids['released_id']}/mark"
    actors = [actor_of(stage, role) for role in (CREW_LEAD, PROJECT_MANAGER)] * 2

    def mark_six(number: int) -> list[str]:
        told = []
        with stage.client(actors[number], program=False) as client:
            for n in range(6):
                sent = shown_form(client, path) | MARK | {"x": str(150 + 10 * n), "y": str(450 + 50 * number)}
                landed = client.post(path, data=sent)
                assert landed.status_code == 303, landed.text
                told += re.findall(r"Chalk (D-\d+) beside", client.get(landed.headers["location"]).text)
        return told

    with ThreadPoolExecutor(4) as pool:
        told = [tag for tags in pool.map(mark_six, range(4)) for tag in tags]
    expected = [f"D-{n:02d}" for n in range(1, 25)]
    assert sorted(told) == expected, "each browser was told a tag of its own"
    assert tags_of(stage, "released_id") == expected


def test_two_people_patching_one_mark_are_both_kept_and_nothing_breaks(stage: Stage) -> None:
    mark = stage.ids["patched_id"]
    path = f"/defects/{mark}/patch"
    clients = [stage.client(actor_of(stage, role), program=False) for role in (CREW_LEAD, PROJECT_MANAGER)]
    forms = [shown_form(client, path) | PATCH for client in clients]
    answers = all_at_once(2, lambda n: clients[n].post(path, data=forms[n]))
    assert [answer.status_code for answer in answers] == [303, 303]
    view = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["zone_id"])
    logged = view.patches_on(mark)
    assert len(logged) == 3 and len({patch.by for patch in logged}) == 2
    assert view.verdict(view.site.defects[mark]).state == "sealed"


def test_a_release_beside_marks_ends_held_whoever_was_first(stage: Stage) -> None:
    """Whatever the order, the zone is never ready to place with an open mark in it."""
    zone = stage.ids["clear_id"]
    manager = stage.client(actor_of(stage, PROJECT_MANAGER), program=False)
    lead = stage.client(actor_of(stage, CREW_LEAD), program=False)
    release = shown_form(manager, f"/zones/{zone}/release") | {"statement": "Seen"}
    mark = shown_form(lead, f"/zones/{zone}/mark") | MARK | {"x": "600", "y": "250"}
    answers = all_at_once(
        2,
        lambda n: (
            manager.post(f"/zones/{zone}/release", data=release)
            if n
            else lead.post(f"/zones/{zone}/mark", data=mark)
        ),
    )
    assert answers[0].status_code == 303 and answers[1].status_code in (303, 409)
    assert zone_view(stage.desk.fresh(), stage.cast.lead.id, zone).standing.state == "held"


def test_a_hundred_sendings_of_one_invitation_let_one_person_in(stage: Stage) -> None:
    """The address got an account meanwhile, so that no password is hashed and nothing slows the race down."""
    desk, project = stage.desk, stage.ids["project_id"]
    made = people.invite(desk.fresh(), stage.cast.manager.id, project, "late@example.com", CREW_LEAD)
    person = accounts.make_person(desk.fresh(), "late@example.com", "Late", "four plain grey doors")
    assert made.token is not None
    start, token, before = Barrier(100), made.token, stage.entries()

    def join(_: int) -> str:
        start.wait()
        try:
            return people.join(desk.fresh(), token, person)
        except Refusal as refused:
            return refused.code

    with ThreadPoolExecutor(100) as pool:
        came = Counter(pool.map(join, range(100)))
    assert came.pop(project) == 1
    assert set(came) <= {"not-found", "already-here"}
    assert stage.entries() == before + 1


def test_forty_sendings_of_one_invitation_make_one_account(stage: Stage) -> None:
    path = f"/join/{stage.ids['token']}"
    with stage.client(stage.actors[0], program=False) as nobody:
        answers = all_at_once(
            40,
            lambda n: nobody.post(path, data={"name": f"Lead {n}", "password": "four plain grey doors"}),
        )
    landed = [answer for answer in answers if answer.status_code == 303]
    assert len(landed) == 1
    assert {answer.status_code for answer in answers} <= {303, 404, 422}
    view = people.people_of(stage.desk.fresh(), stage.cast.manager.id, stage.ids["project_id"])
    assert sum(person.name.startswith("Lead ") for person, _ in view.members) == 1


@pytest.mark.parametrize("key", ["", "k" * 201, "two\nlines"])
def test_a_key_that_is_none_is_refused_and_nothing_is_done(stage: Stage, key: str) -> None:
    done: list[int] = []

    def act() -> tuple[int, str]:
        done.append(1)
        return 303, "/"

    with pytest.raises(Refusal):
        once(stage.desk.fresh(), stage.cast.lead.id, key, b"x", act)
    assert not done
