"""Erasing a person: the name is nowhere any more, they get in nowhere, every history verifies as before."""

from __future__ import annotations

import hashlib
import re

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import text

from service.actions.entrance import accounts, resets
from service.actions.evidence import signing
from service.actions.evidence.audit import history
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.office import projects, ready_lists
from service.actions.people import erasing, people
from service.actions.sketches import zones
from service.actions.upkeep.checking import check_histories
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.words.refusals import BadInput, Conflict, NotFound, NotSignedIn
from service.history.facts.entries import Entry, leaf_hash
from service.history.facts.evidence import NameErased
from service.history.facts.facts import PersonJoined
from service.history.proofs.checkpoints import checkpoint_in
from service.history.proofs.merkle import root_of
from service.storage.history import books, naming, trees
from tests.builders import a_mark, a_patch, a_release, a_zone
from tests.cast import PASSWORD, Cast, enter, start
from tests.conftest import ClientOf
from tests.on_disk import database_bytes
from tests.whole.asking import main_words

NOBODY = "A person no longer named"


@pytest.fixture
def ada(desk: Desk, cast: Cast) -> accounts.Person:
    """A crew lead whose name the history tells by its hash, who marked, patched and walked."""
    person = enter(desk, "Ada Quill")
    people.invite(desk, cast.manager.id, cast.project_id, person.email, CREW_LEAD)
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone, by=person.id)
    a_patch(desk, cast, mark)
    zones.finish_walk(desk, person.id, zone.id)
    return person


def entries(desk: Desk, project: str) -> list[Entry]:
    with desk.reading() as session:
        return books.entries(session, project)


def contents(desk: Desk, project: str) -> list[bytes]:
    with desk.reading() as session:
        return [content for content, _ in books.contents(session, project)]


# --- gone ------------------------------------------------------------------------------------------------


@pytest.mark.sqlite_only("the bytes of its file")
def test_no_byte_of_the_name_or_the_address_is_left_in_the_database(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    """Searched in the file itself and its log, where what a row held before lies on in free pages."""
    for _ in range(3):  # a failed try and a password changed leave the address and old rows behind
        with pytest.raises(NotSignedIn):
            accounts.sign_in(desk, ada.email, "not this one", "10.0.0.9")
    accounts.change_password(desk, ada.id, PASSWORD, "seven busy otters", address="10.0.0.9")
    names = (b"Ada Quill", b"ada.quill", b"Quill")
    assert all(name in database_bytes(desk) for name in names)
    erasing.erase_person(desk, ada.email)
    assert desk.database.leave_nothing_behind()
    kept = database_bytes(desk)
    assert [name in kept for name in names] == [False] * 3
    assert b"Lou Lead" in kept and ada.id.encode() in kept


@pytest.mark.sqlite_only("the bytes of its file")
def test_without_writing_the_file_anew_the_name_would_lie_on_in_it(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    """The control: the search finds what deleting alone leaves behind."""
    erasing.erase_person(desk, ada.email)
    assert b"Ada Quill" in database_bytes(desk)


def test_the_salt_is_gone_and_the_hash_in_the_history_opens_no_more(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    [told] = [e.fact for e in entries(desk, cast.project_id) if isinstance(e.fact, PersonJoined)][-1:]
    with desk.reading() as session:
        [opens] = [one for one in naming.namings(session, cast.project_id) if one.person == ada.id]
    assert hashlib.sha256(opens.salt + b"Ada Quill").hexdigest() == told.name_sha256
    erasing.erase_person(desk, ada.email)
    desk.database.leave_nothing_behind()
    with desk.reading() as session:
        assert [one for one in naming.namings(session, cast.project_id) if one.person == ada.id] == []
    assert opens.salt not in database_bytes(desk)
    assert hashlib.sha256(b"Ada Quill").hexdigest() != told.name_sha256, "no hash of the bare name"


def test_every_page_says_a_person_no_longer_named_where_they_stand(
    desk: Desk, cast: Cast, ada: accounts.Person, page_of: ClientOf, program_of: ClientOf
) -> None:
    page, program = page_of(cast.manager), program_of(cast.manager)
    root = f"/projects/{cast.project_id}"
    with desk.reading() as session:
        [mark] = [e.fact.defect for e in books.entries(session, cast.project_id) if e.type == "defect-marked"]  # type: ignore[union-attr]  # filtered by type
    [zone] = {e.zone for e in entries(desk, cast.project_id) if e.zone}
    paths = [
        f"{root}/history", f"{root}/people", f"{root}/office", f"{root}/crew", f"/defects/{mark}",
        f"/zones/{zone}", f"/zones/{zone}/release", f"/zones/{zone}/as-it-stood", f"{root}/closeout",
        f"{root}/who-did-what", f"{root}/who-did-what/{ada.id}",
    ]  # fmt: skip
    calls = [f"/api/v1{root}/history?limit=500", f"/api/v1{root}/people", f"/api/v1/defects/{mark}"]
    before = " ".join(page.get(path).text for path in paths) + " ".join(program.get(c).text for c in calls)
    assert before.count("Ada Quill") >= 5
    erasing.erase_person(desk, ada.email)
    shown = {path: page.get(path) for path in paths} | {call: program.get(call) for call in calls}
    for path, answer in shown.items():
        assert answer.status_code == 200, path
        assert "Quill" not in answer.text and "ada.quill" not in answer.text, path
    for path in (f"{root}/history", f"{root}/who-did-what", f"/defects/{mark}", calls[0], calls[2]):
        assert NOBODY.lower() in shown[path].text.lower(), path
    for answer in shown.values():
        assert not re.search(r">\s*, crew lead|by\s*,|\bby\s*<", answer.text), "an empty name"


def test_the_history_tells_the_erasing_by_the_operator_and_names_nobody(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    assert erasing.erase_person(desk, ada.email.upper()) == 1
    view = history(desk, cast.inspector.id, cast.project_id)
    assert [line.sentence for line in view.lines[:2]] == [
        "The operator of the service erased the name of a person; what that person did stays.",
        "The operator of the service took a person no longer named off the project.",
    ]
    assert {line.who for line in view.lines[:2]} == {"The operator of the service"}
    assert any(line.sentence.startswith(f"{NOBODY} finished a punch walk") for line in view.lines)
    assert ada.id not in view.names and "" not in view.names.values()


# --- nobody gets in --------------------------------------------------------------------------------------


def test_they_are_signed_out_everywhere_and_no_way_leads_back_in(
    desk: Desk, cast: Cast, ada: accounts.Person, app: FastAPI, page_of: ClientOf, client: httpx.Client
) -> None:
    inside = page_of(ada)
    reset = resets.make_reset_for_email(desk, ada.email)
    assert inside.get("/").status_code == client.get(f"/reset/{reset}").status_code == 200
    erasing.erase_person(desk, ada.email)
    assert inside.get("/").headers["location"].startswith("/sign-in")
    assert client.get(f"/reset/{reset}").status_code == 404
    for email in (ada.email, f"erased:{ada.id}", ""):
        with pytest.raises(NotSignedIn):
            accounts.sign_in(desk, email, PASSWORD, "10.0.0.9")
        with pytest.raises(NotFound):
            resets.make_reset_for_email(desk, email)
        with pytest.raises(NotFound):
            erasing.erase_person(desk, email)
    with pytest.raises(BadInput):
        people.invite(desk, cast.manager.id, cast.project_id, f"erased:{ada.id}", CREW_LEAD)
    with pytest.raises(NotFound):
        resets.make_reset(desk, cast.manager.id, ada.id)


def test_whoever_was_at_work_while_they_were_erased_starts_nothing_more(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    """A request let in just before: it finds nobody, and records nothing under an empty name."""
    erasing.erase_person(desk, ada.email)
    with pytest.raises(NotFound):
        projects.start_project(desk, ada.id, "Late", "us", "America/Chicago")
    with pytest.raises(NotFound):
        zones.finish_walk(desk, ada.id, next(e.zone or "" for e in entries(desk, cast.project_id) if e.zone))


def test_the_address_is_free_for_somebody_new_who_is_somebody_else(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    erasing.erase_person(desk, ada.email)
    anew = accounts.make_person(desk, ada.email, "Ada Quill", "seven busy otters")
    assert anew.id != ada.id
    view = history(desk, cast.manager.id, cast.project_id)
    assert "Ada Quill" not in " ".join(line.sentence for line in view.lines)


def test_invitations_to_the_address_go_and_the_histories_say_so(desk: Desk, cast: Cast) -> None:
    """The address was invited to another project before it had an account there."""
    token = people.invite(
        desk, cast.other_manager.id, cast.other_project_id, "ada.quill@example.com", INSPECTOR
    ).token
    assert token is not None
    enter(desk, "Ada Quill")
    assert people.invitation_shown(desk, token).has_account
    assert erasing.erase_person(desk, "ada.quill@example.com") == 0, "no history ever told their name"
    with pytest.raises(NotFound):
        people.invitation_shown(desk, token)
    assert entries(desk, cast.other_project_id)[-1].type == "invitation-withdrawn"
    desk.database.leave_nothing_behind()
    assert b"quill" not in database_bytes(desk).lower()
    assert check_histories(desk).faults == ()


def test_replies_kept_to_be_told_again_lose_the_name(
    desk: Desk, cast: Cast, program_of: ClientOf, ada: accounts.Person
) -> None:
    program, key = program_of(ada), {"Idempotency-Key": "tap"}
    office = program_of(cast.manager)
    body = {"email": ada.email, "role": INSPECTOR}
    project = start(desk, "Depot", {cast.manager: PROJECT_MANAGER})
    path = f"/api/v1/projects/{project}/people"
    first = office.post(path, json=body, headers=key)
    assert first.status_code == 201 and ada.email in first.text
    [zone] = {e.zone for e in entries(desk, cast.project_id) if e.zone}
    hold = {"cause": "frost", "reason": "White"}
    assert "Ada Quill" in program.post(f"/api/v1/zones/{zone}/holds", json=hold, headers=key).text
    erasing.erase_person(desk, ada.email)
    again = office.post(path, json=body, headers=key)
    assert again.status_code == 201 and again.json() == first.json() | {"email": ""}
    with desk.reading() as session:
        kept = session.execute(text("SELECT person_id FROM request")).scalars().all()
    assert set(kept) == {cast.manager.id}, "their own are gone whole"
    desk.database.leave_nothing_behind()
    assert b"quill" not in database_bytes(desk).lower()


# --- what stays ------------------------------------------------------------------------------------------


def test_the_history_verifies_as_before_and_no_entry_changed(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    size = signing.keep_checkpoint(desk, cast.inspector.id, cast.project_id)
    note = signing.kept_checkpoint(desk, cast.inspector.id, cast.project_id, size)[1]
    before = contents(desk, cast.project_id)
    erasing.erase_person(desk, ada.email)
    desk.database.leave_nothing_behind()
    after = contents(desk, cast.project_id)
    assert after[: len(before)] == before and len(after) == len(before) + 2
    root = checkpoint_in(note).root
    assert root_of([leaf_hash(content) for content in after[:size]]) == root
    with desk.reading() as session:
        assert trees.root_at(session, cast.project_id, size) == root
    assert check_histories(desk).faults == ()


def test_every_project_that_told_the_name_says_that_it_is_erased(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    """On one they work still; from one they were taken off; on a third they never were."""
    left = start(desk, "Depot", {cast.manager: PROJECT_MANAGER})
    people.invite(desk, cast.manager.id, left, ada.email, INSPECTOR)
    people.take_off(desk, cast.manager.id, left, ada.id)
    assert erasing.erase_person(desk, ada.email) == 2
    kinds = {
        project: [entry.type for entry in entries(desk, project)]
        for project in (cast.project_id, left, cast.other_project_id)
    }
    assert kinds[cast.project_id][-2:] == ["person-left", "name-erased"]
    assert kinds[left][-2:] == ["person-left", "name-erased"]
    assert kinds[left].count("person-left") == 1, "they had left already"
    assert "name-erased" not in kinds[cast.other_project_id]
    assert entries(desk, left)[-1].fact == NameErased(ada.id)


def test_a_release_they_had_a_hand_in_stands(desk: Desk, cast: Cast, ada: accounts.Person) -> None:
    [zone] = {e.zone for e in entries(desk, cast.project_id) if e.zone}
    a_release(desk, cast, zone_view(desk, cast.manager.id, zone or "").zone)
    erasing.erase_person(desk, ada.email)
    assert zone_view(desk, cast.manager.id, zone or "").standing.state == "ready to place"


def test_the_last_project_manager_of_a_project_is_not_erased_and_it_is_named(desk: Desk, cast: Cast) -> None:
    second = start(desk, "Depot", {cast.manager: PROJECT_MANAGER})
    before = database_entries(desk, cast, second)
    with pytest.raises(Conflict) as refusal:
        erasing.erase_person(desk, cast.manager.email)
    assert refusal.value.code == "last-manager"
    assert '"Depot", "North warehouse slab"' in refusal.value.message
    assert database_entries(desk, cast, second) == before, "all or nothing"
    assert accounts.sign_in(desk, cast.manager.email, PASSWORD, "10.0.0.9")
    for project in (cast.project_id, second):
        people.invite(desk, cast.manager.id, project, cast.outsider.email, PROJECT_MANAGER)
    assert erasing.erase_person(desk, cast.manager.email) == 2


def database_entries(desk: Desk, cast: Cast, *more: str) -> list[bytes]:
    return [content for project in (cast.project_id, *more) for content in contents(desk, project)]


def test_what_people_typed_is_not_searched(desk: Desk, cast: Cast, ada: accounts.Person) -> None:
    """Said in the README: an entry is evidence, and no word of it is ever changed."""
    zone = a_zone(desk, cast, letter="C", outline=[(1000, 100), (1400, 100), (1400, 500)])
    zones.finish_walk(desk, cast.lead.id, zone.id, "With Ada Quill")
    erasing.erase_person(desk, ada.email)
    view = history(desk, cast.manager.id, cast.project_id)
    assert any("With Ada Quill" in line.sentence for line in view.lines)


def test_a_ready_list_opened_by_somebody_erased_works_on_and_names_nobody(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    token = ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, "concrete sub").token
    people.invite(desk, cast.manager.id, cast.project_id, cast.outsider.email, PROJECT_MANAGER)
    erasing.erase_person(desk, cast.manager.email)
    assert ready_lists.ready_list(desk, token).zones == ()
    page = main_words(page_of(cast.outsider).get(f"/projects/{cast.project_id}/ready-lists"))
    assert "by a person no longer named" in page


def test_a_row_of_the_person_keeps_its_id_and_nothing_else(
    desk: Desk, cast: Cast, ada: accounts.Person
) -> None:
    erasing.erase_person(desk, ada.email)
    with desk.reading() as session:
        row = session.execute(
            text("SELECT id, email, name, password_hash FROM person WHERE id = :id"), {"id": ada.id}
        ).one()
        counts = [
            session.execute(
                text(f"SELECT count(*) FROM {table} WHERE person_id = :id"), {"id": ada.id}
            ).scalar()
            for table in ("sign_in", "reset", "naming", "request")
        ]
    assert tuple(row) == (ada.id, f"erased:{ada.id}", "", "!")
    assert counts == [0, 0, 0, 0]
