"""A form that stood open while the site went on: refused with the reason, what was typed stays in sight."""

from __future__ import annotations

import pytest

from service.actions.frame.reading import zone_view
from service.actions.marks import defects, patches
from service.actions.office import projects
from service.actions.people import people
from service.actions.sketches import zones
from tests.builders import HOLE, sides
from tests.cast import PASSWORD
from tests.whole.asking import CREW_LEAD, PROJECT_MANAGER, actor_of, main_words, shown_again, shown_form
from tests.whole.routes import PATCH, ROWS, TEAR, Row
from tests.whole.stage import Stage

GONE = "Poured with the next"
OF_A_ZONE = [
    row
    for row in ROWS
    if row.method == "POST"
    and not row.program
    and {"zone_id", "defect_id", "patch_id", "hold_id", "wall_id"} & set(row.names)
    and "seen_id" not in row.ids.values()
    and not row.path.endswith("/preview")
]


def take_off(stage: Stage, of: str = "zone_id") -> None:
    """The project manager takes the zone off the sketch while others have it open."""
    zones.withdraw_zone(stage.desk.fresh(), stage.cast.manager.id, stage.ids[of], GONE)


@pytest.mark.parametrize("row", OF_A_ZONE, ids=str)
def test_a_zone_taken_off_under_an_open_form_refuses_it_and_shows_what_was_typed(
    stage: Stage, row: Row
) -> None:
    of = row.ids.get("zone_id", "zone_id")
    take_off(stage, of)
    before = stage.digest()
    typed = {name: value for name, value in row.form.items() if len(value) > 6 and value[:1] not in "@["}
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        answer = row.send(client, stage.ids, note="north column", request_key="k")
    assert answer.status_code in (409, 422)
    assert stage.digest() == before
    words = main_words(answer)
    assert "was taken off the sketch" in words and GONE in words
    for value in typed.values():
        assert value in answer.text


def test_a_mark_typed_for_a_zone_taken_off_is_offered_to_the_zone_that_is_there_now(stage: Stage) -> None:
    path = f"/zones/{stage.ids['clear_id']}/mark"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | TEAR | {"x": "600", "y": "250", "kind": "tear", "note": "by steel"}
        there = zone_view(stage.desk.fresh(), stage.cast.manager.id, stage.ids["zone_id"]).zone
        take_off(stage, "clear_id")
        ring = [(100, 100), (900, 100), (900, 400), (100, 400)]
        zones.change_zone(
            stage.desk.fresh(), stage.cast.manager.id, stage.ids["zone_id"], outline=ring, keep_place_at=True
        )
        asked = client.post(path, data=sent)
        assert asked.status_code == 422
        assert f"Zone C was taken off the sketch: {GONE}." in main_words(asked)
        assert "That place lies in zone B now." in main_words(asked)
        landed = client.post(path, data=shown_again(asked.text, path) | {"zone": stage.ids["zone_id"]})
        assert landed.status_code == 303
        told = main_words(client.get(landed.headers["location"]))
        assert f"Chalk B-{there.marks + 1:02d} beside it" in told
        assert client.get(path).status_code == 409, "nobody starts a new form there"


def test_a_mark_withdrawn_under_an_open_patch_form_keeps_what_was_typed(stage: Stage) -> None:
    path = f"/defects/{stage.ids['defect_id']}/patch"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | PATCH | {"lot": "R-2231"}
        defects.withdraw_defect(
            stage.desk.fresh(), stage.cast.lead.id, stage.ids["defect_id"], "Entered twice"
        )
        answer = client.post(path, data=sent)
    assert answer.status_code in (409, 422)
    assert "B-01 was withdrawn: Entered twice." in main_words(answer)
    assert 'value="R-2231"' in answer.text


# --- the office ------------------------------------------------------------------------------------------


def test_a_release_of_facts_that_moved_is_refused_and_says_what_moved(stage: Stage) -> None:
    zone = stage.ids["clear_id"]
    path = f"/zones/{zone}/release"
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        sent = shown_form(client, path) | {"statement": "I have walked it with Lou."}
        mark = defects.read_mark("hole", (600, 250), HOLE)
        defects.mark_defect(stage.desk.fresh(), stage.cast.inspector.id, zone, mark)
        answer = client.post(path, data=sent)
    assert answer.status_code == 409
    words = main_words(answer)
    assert "Something changed since you looked" in words
    assert "C-01" in words and "Ina Inspector" in words
    view = zone_view(stage.desk.fresh(), stage.cast.manager.id, zone)
    assert view.standing.state == "held" and view.standing.release is None


def test_a_stale_digest_is_told_apart_from_a_held_zone_and_comes_first(stage: Stage) -> None:
    zone = stage.ids["clear_id"]
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=True) as program:
        digest = program.get(f"/api/v1/zones/{zone}/gate").json()["digest"]
        mark = defects.read_mark("hole", (600, 250), HOLE)
        defects.mark_defect(stage.desk.fresh(), stage.cast.lead.id, zone, mark)
        path, body = f"/api/v1/zones/{zone}/release", {"digest": digest, "statement": "Seen"}
        stale = program.post(path, json=body)
        now = program.get(f"/api/v1/zones/{zone}/gate").json()["digest"]
        held = program.post(path, json=body | {"digest": now})
    assert (stale.status_code, stale.json()["error"]["code"]) == (409, "facts-moved")
    assert (held.status_code, held.json()["error"]["code"]) == (409, "zone-held")


def test_a_rule_sheet_changed_by_somebody_else_is_not_written_over(stage: Stage) -> None:
    path = f"/projects/{stage.ids['project_id']}/rule-sheet"
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        sent = shown_form(client, path) | {"patch_overlap": "9 in", "step": "look"}
        looked = client.post(path, data=sent)
        projects.change_rule_sheet(
            stage.desk.fresh(), stage.cast.manager.id, stage.ids["project_id"], {"patch_overlap": "8 in"}
        )
        answer = client.post(path, data=shown_again(looked.text, path) | {"step": "save"})
    assert answer.status_code == 409
    assert "Somebody changed the rule sheet since you looked" in main_words(answer)
    assert 'value="9 in"' in answer.text, "what was typed stays"
    assert "8 in" in main_words(answer), "and what they changed is told"


def test_a_rule_sheet_changed_under_a_patch_form_judges_by_the_new_number(stage: Stage) -> None:
    path = f"/defects/{stage.ids['defect_id']}/patch"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | PATCH
        projects.change_rule_sheet(
            stage.desk.fresh(), stage.cast.manager.id, stage.ids["project_id"], {"patch_overlap": "8 in"}
        )
        landed = client.post(path, data=sent)
        assert landed.status_code == 303
        assert "short by 2 in" in main_words(client.get(landed.headers["location"]))


# --- signing in and joining ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/zones/{zone_id}/mark",
        "/defects/{defect_id}/patch",
        "/zones/{clear_id}/release",
        "/zones/{zone_id}/hold",
    ],
)
def test_a_form_sent_after_signing_out_comes_back_after_signing_in(stage: Stage, path: str) -> None:
    """Scripts off: the harder way. What was typed is shown, and one press sends it."""
    where = path.format(**stage.ids)
    row = next(r for r in ROWS if r.method == "POST" and r.path == path.replace("clear_id", "zone_id"))
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        sent = shown_form(client, where) | {k: v for k, v in row.form.items() if v[:1] != "@"}
        sent |= {"reason": "by the north column", "note": "by the north column"}
        client.post("/sign-out")
        late = client.post(where, data=sent, headers={"Referer": f"{client.base_url}{where[1:]}"})
        assert late.status_code == 303
        sign_in = shown_again(client.get(late.headers["location"]).text, "/sign-in")
        person = {"email": stage.cast.manager.email, "password": PASSWORD}
        again = client.post("/sign-in", data=sign_in | person)
        assert again.status_code == 200
        assert "by the north column" in main_words(again)
        landed = client.post(where, data=shown_again(again.text, where))
        assert landed.status_code == 303
        assert client.get(landed.headers["location"]).status_code == 200


def test_an_invitation_lets_one_person_in_once(stage: Stage) -> None:
    path = f"/join/{stage.ids['token']}"
    nobody = stage.actors[0]
    with stage.client(nobody, program=False) as first, stage.client(nobody, program=False) as second:
        typed = {"name": "New Lead", "password": "four plain grey doors"}
        assert first.post(path, data=typed).status_code == 303
        answer = second.post(path, data=typed | {"name": "Another"})
    assert answer.status_code == 404
    assert "This link lets nobody in" in main_words(answer)
    view = people.people_of(stage.desk.fresh(), stage.cast.manager.id, stage.ids["project_id"])
    assert sorted(person.name for person, _ in view.members).count("New Lead") == 1
    assert "Another" not in [person.name for person, _ in view.members]


def test_two_patches_on_one_mark_are_both_kept_and_judged_together(stage: Stage) -> None:
    """One reaches 6 in but 4 in to the right, the other 8 in but 4 in to the left: together they seal."""
    desk, cast, mark = stage.desk, stage.cast, stage.ids["defect_id"]
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        path = f"/defects/{mark}/patch"
        sent = shown_form(client, path) | PATCH | {"right": "4"}
        patches.log_patch(desk.fresh(), cast.manager.id, mark, sides("4 in", "8 in", "8 in", "8 in"))
        landed = client.post(path, data=sent)
        words = main_words(client.get(landed.headers["location"]))
    assert landed.status_code == 303 and "B-01 is sealed" in words


# --- gone back to ----------------------------------------------------------------------------------------


def test_a_form_gone_back_to_and_changed_says_so_once_and_then_lands_as_one_more(stage: Stage) -> None:
    """The browser's Back shows the form that landed, with its key: the next defect is typed into that."""
    path = f"/zones/{stage.ids['zone_id']}/mark"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = shown_form(client, path) | TEAR | {"x": "250", "y": "250", "kind": "tear"}
        assert client.post(path, data=sent).status_code == 303
        again = client.post(path, data=sent | {"x": "350"})
        assert again.status_code == 422
        assert "This form was sent before, and what it said then is recorded." in main_words(again)
        assert client.post(path, data=shown_again(again.text, path)).status_code == 303
    view = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["zone_id"])
    assert [mark.at[0] for mark in view.defects()][-2:] == [250_000, 350_000]


@pytest.mark.parametrize(
    "path",
    [
        "/zones/{zone_id}/hold",
        "/zones/{zone_id}/walls",
        "/defects/{defect_id}/patch",
        "/projects/{project_id}/people",
    ],
)
def test_every_form_can_be_sent_again_after_it_was_gone_back_to(stage: Stage, path: str) -> None:
    where = path.format(**stage.ids)
    row = next(row for row in ROWS if row.method == "POST" and row.path == path)
    other = {"reason": "More hail", "note": "one more", "x1": "160", "email": "one.more@example.com"}
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        sent = shown_form(client, where) | row.form
        assert client.post(where, data=sent).status_code in (200, 303)
        again = client.post(where, data=sent | {k: v for k, v in other.items() if k in sent})
        assert again.status_code in (409, 422)
        assert "This form was sent before" in main_words(again)
        anew = shown_again(again.text, where)
        assert anew["request_key"] not in ("", sent["request_key"])
        assert client.post(where, data=anew).status_code in (200, 303)
