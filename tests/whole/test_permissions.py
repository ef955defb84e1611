"""Every route by every actor: who may, who is told to sign in, and who learns nothing at all.

What is expected is worked out from `roles.MAY`, the one table; how the matrix is laid out follows OWASP's
Authorization Testing Automation and Authorization Regression Testing cheat sheets: rows are the app's own
routes, a route without a row fails, and a cell that should have been refused and was not fails.
"""

from __future__ import annotations

import re
from copy import deepcopy
from dataclasses import replace
from typing import Any

import httpx
import pytest
from sqlmodel import Session

from service.actions.entrance import accounts
from service.actions.frame import doing, reading
from service.domain.nouns import roles
from service.storage.accounts.people import signed_in
from service.storage.history import naming, seen
from service.web.serving.guards import PLAIN_COOKIE
from tests.whole.cells import ALLOWED, RANDOM, Cell, expected, faults, told_apart
from tests.whole.routes import OPEN, ROWS, SIGNED, Row, routes_of
from tests.whole.stage import Actor, Stage

# --- the matrix ------------------------------------------------------------------------------------------


def test_every_route_of_the_app_has_a_row_and_every_row_a_route(stage: Stage) -> None:
    assert routes_of(stage.app) == {(row.method, row.path) for row in ROWS}


def test_every_right_of_the_table_is_asked_for_by_some_row() -> None:
    assert set(roles.MAY) == {row.action for row in ROWS} - {OPEN, SIGNED}


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_every_actor_gets_what_the_table_of_rights_says(stage: Stage, row: Row) -> None:
    wrong = [
        fault for actor in stage.actors for fault in faults(stage, Cell(row, actor, expected(row, actor)))
    ]
    assert not wrong, "\n".join(wrong)


# --- the same in other states ----------------------------------------------------------------------------

# The rows above are about a held zone and an open mark, where they name no other. A zone that is clear or
# released, and a mark that is patched or mended, are as closed to who may not act on them.
STATES = [
    replace(row, ids={name: other})
    for name, others in (("zone_id", ("clear_id", "released_id")), ("defect_id", ("patched_id", "mended_id")))
    for other in others
    for row in ROWS
    if name in row.names and not row.ids and row.action not in (OPEN, SIGNED)
]


def test_the_states_are_tried_on_every_row_about_a_zone_or_a_mark() -> None:
    assert len(STATES) > 180 and {row.ids.popitem()[1] for row in map(deepcopy, STATES)} == {
        "clear_id", "released_id", "patched_id", "mended_id",
    }  # fmt: skip


@pytest.mark.parametrize("row", STATES, ids=str)
def test_who_may_not_act_may_not_whatever_the_state(stage: Stage, row: Row) -> None:
    refused = [actor for actor in stage.actors if expected(row, actor) != ALLOWED]
    wrong = [fault for actor in refused for fault in faults(stage, Cell(row, actor, expected(row, actor)))]
    assert len(refused) >= 7 and not wrong, "\n".join(wrong)


# --- teeth: with a guard taken away, the matrix must say so ----------------------------------------------

KINDS = ("/zones/{zone_id}/mark", "/zones/{zone_id}/release", "/zones/{zone_id}/hold", "/zones/{zone_id}")


def wrong_cells(stage: Stage, paths: tuple[str, ...] = KINDS) -> list[str]:
    """Every fault in the rows of these paths, pages and calls."""
    rows = [row for row in ROWS if row.path.removeprefix("/api/v1") in paths]
    return [
        fault
        for row in rows
        for actor in stage.actors
        for fault in faults(stage, Cell(row, actor, expected(row, actor)))
    ]


def as_a_member(lookup: Any, member: str) -> Any:
    """A lookup that forgot to ask who is looking: everybody sees what a member sees."""

    def see(session: Session, _: str, noun_id: str) -> Any:
        return lookup(session, member, noun_id)

    return see


def test_a_guard_that_lets_everybody_act_is_caught(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doing, "allow", lambda seen, action: None)
    caught = wrong_cells(stage)
    for role in ("the crew lead", "the inspector"):
        assert any("/release " in fault and f"by {role}: " in fault for fault in caught), role


@pytest.mark.parametrize(
    ("module", "name"),
    [(doing, "zone_seen_by"), (reading, "zone_seen_by")],
    ids=["in changes", "in looks"],
)
def test_a_lookup_that_forgets_membership_is_caught(
    stage: Stage, monkeypatch: pytest.MonkeyPatch, module: Any, name: str
) -> None:
    monkeypatch.setattr(module, name, as_a_member(getattr(seen, name), stage.cast.manager.id))
    caught = wrong_cells(stage)
    for actor in ("another project's manager", "a manager taken off", "somebody on no project"):
        assert any(actor in fault for fault in caught), actor


def test_a_lookup_that_forgets_who_left_is_caught(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seen, "GONE", "a role nobody has")
    caught = wrong_cells(stage, ("/projects/{project_id}/rule-sheet", "/sketches/{sketch_id}/scale"))
    assert caught and all("a manager taken off" in fault for fault in caught)


def test_a_sign_in_that_never_ends_is_caught(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    def for_ever(desk: Any, token: str, kind: str = accounts.PAGE) -> Any:
        with desk.reading() as session:
            then = desk.clock().replace(year=2000)
            found = signed_in(session, accounts.token_sha256(token), kind, then)
        return found[0] if found else None

    monkeypatch.setattr(accounts, "person_for", for_ever)
    caught = wrong_cells(stage)
    assert caught and all("a sign-in that ended" in fault for fault in caught)


def test_a_refusal_that_says_who_has_the_thing_is_caught(stage: Stage) -> None:
    """Bytes are compared, not statuses: one word more in the answer is a fault."""
    row = next(row for row in ROWS if row.path == "/zones/{zone_id}")
    actor = next(actor for actor in stage.actors if actor.name.startswith("another"))
    with stage.client(actor, program=False) as client:
        answer = row.send(client, stage.ids)
        said = httpx.Response(404, content=answer.content + b" of another project")
        assert told_apart(row, client, stage.ids, said)
        assert not told_apart(row, client, stage.ids, answer)


# --- a sign-in carried the wrong way ---------------------------------------------------------------------


def test_a_page_does_not_take_a_programs_token_and_a_program_no_pages_token(stage: Stage) -> None:
    manager = next(actor for actor in stage.actors if actor.here == roles.PROJECT_MANAGER)
    page, call = (next(row for row in ROWS if row.path == path) for path in ("/", "/api/v1/projects"))
    with stage.client(manager, program=False, kind=accounts.PROGRAM) as client:
        assert page.send(client, stage.ids).status_code == 303
    with stage.client(manager, program=True, kind=accounts.PAGE) as client:
        assert call.send(client, stage.ids).status_code == 401


def test_a_code_signs_in_to_one_project_whatever_else_its_person_may(stage: Stage) -> None:
    """They are project manager of the other project: with a password they see it, by a code they do not."""
    coded = next(actor for actor in stage.actors if actor.by_code)
    ends = ("zones/{zone_id}", "projects/{project_id}/crew", "sketches/{sketch_id}", "defects/{defect_id}")
    paths = [f"/{end}" for end in ends]
    with stage.client(coded, program=False) as client:
        assert [client.get(path.format(**stage.ids)).status_code for path in paths] == [200] * 4
        assert [client.get(path.format(**stage.other)).status_code for path in paths] == [404] * 4
        home = client.get("/").text
        assert stage.ids["project_id"] in home and stage.other["project_id"] not in home
    token, _ = accounts.open_sign_in(stage.desk.fresh(), coded.person_id)
    with stage.client(coded, program=False) as client:
        client.cookies.clear()
        client.cookies.set(PLAIN_COOKIE, token)
        assert [client.get(path.format(**stage.other)).status_code for path in paths] == [200] * 4
    stage.put_back()


def test_a_lookup_that_forgets_the_project_of_a_code_is_caught(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seen, "_by_code", lambda session: ())
    with pytest.raises(AssertionError):
        test_a_code_signs_in_to_one_project_whatever_else_its_person_may(stage)


# --- children of other parents ---------------------------------------------------------------------------

# A place in the history (`seq`, `size`, `old`) is no child: every project has its own by the same number.
TWO_IDS = [
    row
    for row in ROWS
    if row.names[:1] == ["project_id"] and len(row.names) > 1 and row.names[1].endswith("_id")
]


def test_there_are_rows_with_a_child_below_its_parent() -> None:
    assert len(TWO_IDS) == 8


@pytest.mark.parametrize("row", TWO_IDS, ids=str)
def test_another_projects_child_is_not_reached_through_a_parent_of_ones_own(stage: Stage, row: Row) -> None:
    """The other project's manager names their own project and a child of ours; then the other way round."""
    theirs = next(actor for actor in stage.actors if actor.person == stage.cast.other_manager)
    child = row.names[1]
    before = stage.digest()
    with stage.client(theirs, row.program) as client:
        mixed = row.send(client, stage.other | {child: stage.ids[child]})
        nothing = row.send(client, stage.other | {child: RANDOM})
        turned = row.send(client, stage.ids | {child: stage.other[child]})
    assert mixed.status_code in (404, 409) and turned.status_code == 404
    assert _plain(mixed) == _plain(nothing)
    assert stage.digest() == before


def _plain(answer: httpx.Response) -> tuple[int, str]:
    """The answer without the keys of its forms, which are new in every answer."""
    return answer.status_code, re.sub(r'name="request_key" value="[^"]*"', "", answer.text)


@pytest.mark.parametrize(
    ("path", "more"),
    [
        ("/zones/{zone_id}/mark", {"zone": "zone_id"}),
        ("/defects/{defect_id}/patch", {"also": "defect_id"}),
    ],
)
def test_a_form_that_names_another_projects_thing_reaches_nothing(
    stage: Stage, path: str, more: dict[str, str]
) -> None:
    row = next(row for row in ROWS if (row.method, row.path) == ("POST", path))
    lead = next(actor for actor in stage.actors if actor.here == roles.CREW_LEAD)
    named = {field: stage.other[of] for field, of in more.items()}
    before = stage.digest()
    with stage.client(lead, program=False) as client:
        answer = row.send(client, stage.ids, **named)
        nothing = row.send(client, stage.ids, **dict.fromkeys(named, RANDOM))
    assert answer.status_code in (404, 422) and answer.status_code == nothing.status_code
    assert stage.digest() == before


# --- fields that nobody may set --------------------------------------------------------------------------

FIELDS = {
    "ready": "yes", "by": "somebody", "role": "inspector", "at": "2020-01-01T00:00", "seq": "1",
    "project_id": "x", "min_overlap": "1 in", "state": "ready to place", "made_by": "x", "closed": "yes",
}  # fmt: skip
MEANT = {
    ("/placed", "at"), ("/start-placing", "at"), ("/readings", "at"), ("/people", "role"), ("/role", "role"),
    ("/patch", "by"),
}  # fmt: skip
OWN_TABLES = ("invitation", "reset", "person", "crew_code")  # their secrets are drawn anew every time
# The authority's answer has its own time and number, so two of them are never alike.
OUTSIDE = ("/timestamps",)


class AlikeEveryTime:
    """Secrets of links and salts of names stand hashed in the history: two runs of one request must draw the
    same to come out the same."""

    @staticmethod
    def token_bytes(count: int) -> bytes:
        return b"s" * count

    @staticmethod
    def token_urlsafe(count: int) -> str:
        return "s" * count


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row.method != "GET" and row.action not in (OPEN, SIGNED)], ids=str
)
def test_fields_that_nobody_may_set_change_nothing(
    stage: Stage, row: Row, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A call refuses them (422); a form lands as if they were not there: the tables come out the same."""
    for module in (naming, accounts):
        monkeypatch.setattr(module, "secrets", AlikeEveryTime)
    more = {
        name: value
        for name, value in FIELDS.items()
        if not any(row.path.endswith(path) and name == field for path, field in MEANT)
        and name not in (row.json or {})
    }
    role = next(r for r in roles.ROLES if expected(row, _of(stage, r)) == ALLOWED)
    before, outcomes = stage.digest(OWN_TABLES), []
    for fields in ({}, more):
        with stage.client(_of(stage, role), row.program) as client:
            answer = row.send(client, stage.ids, **fields)
        outcomes.append((answer.status_code, stage.digest(OWN_TABLES)))
        stage.put_back()
    assert outcomes[0][0] < 400
    if row.path.endswith(OUTSIDE):
        assert outcomes[1] == (422, before) if row.program else outcomes[1][0] == outcomes[0][0]
        return
    assert outcomes[1] == ((422, before) if row.program else outcomes[0])


def _of(stage: Stage, role: str) -> Actor:
    return next(actor for actor in stage.actors if actor.here == role)
