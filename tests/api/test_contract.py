"""Every row of the JSON contract: it answers as it should, to whom it should, and refuses everybody else."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import httpx
import pytest
from pydantic import TypeAdapter

from service.api import v1
from tests.api.conftest import Programs
from tests.api.rows import ALL, ROWS, WITH_ID, WRITES, Row
from tests.api.scene import LEAD, MANAGER, Scene
from tests.api.shape import assert_refused
from tests.conftest import ClientOf

CONTRACT = Path(__file__).resolve().parents[3] / "shared" / "API.md"

every_row = pytest.mark.parametrize("row", ROWS, ids=str)


def dig(found: Any, dotted: str) -> Any:
    for step in dotted.split("."):
        found = found[step]
    return found


def models() -> dict[tuple[str, str], Any]:
    """Method and path to the type that the description promises."""
    found = {}
    for subject in v1.SUBJECTS:
        for route in subject.router.routes:
            for method in getattr(route, "methods", ()):
                path = re.sub(r"\{\w+\}", "{}", getattr(route, "path", ""))
                found[method, path] = getattr(route, "response_model", None)
    return found


@every_row
def test_a_call_answers_with_the_fields_of_the_contract(row: Row, scene: Scene, programs: Programs) -> None:
    caller = LEAD if LEAD in row.may else MANAGER
    answer = row.send(programs.by_role[caller], scene)
    assert answer.status_code == row.status, answer.text[:500]
    if not answer.headers["content-type"].startswith("application/json"):
        return
    for dotted in row.gives:
        dig(answer.json(), dotted)
    promised = models()[row.method, re.sub(r"\{\w+\}", "{}", row.path)]
    TypeAdapter(promised).validate_json(answer.content)


def test_nobody_signed_in_is_told_so_whatever_they_send(scene: Scene, client: httpx.Client) -> None:
    for row in ROWS:
        answer = row.send(client, scene, body={"not": "looked at"} if row.body else None)
        assert_refused(answer, 401, "not-signed-in")
        assert answer.headers["www-authenticate"] == "Bearer", row


def test_what_is_not_yours_and_what_is_not_there_get_the_same_bytes(scene: Scene, programs: Programs) -> None:
    no_route = programs.manager.get("/api/v1/nothing/like/it")
    for row in WITH_ID:
        not_yours = row.send(programs.outsider, scene)
        nowhere = row.path.replace(f"{{{row.about}}}", "0123456789abcdef0123")
        not_there = row.send(programs.manager, scene, path=scene.path(nowhere))
        assert_refused(not_yours, 404, "not-found")
        assert not_yours.content == not_there.content == no_route.content, row
        same = {"content-type", "content-length", "cache-control"}
        assert {n: v for n, v in not_yours.headers.items() if n in same} == {
            n: v for n, v in not_there.headers.items() if n in same
        }, row


def test_another_role_is_refused_and_changes_nothing(scene: Scene, programs: Programs) -> None:
    history = scene.path("/projects/{project}/history?limit=500")
    before = programs.manager.get(history).json()["checkpoint"]
    for row in ROWS:
        for role in set(ALL) - set(row.may):
            assert_refused(row.send(programs.by_role[role], scene), *row.others)
    assert programs.manager.get(history).json()["checkpoint"] == before


@pytest.mark.parametrize("row", WRITES, ids=str)
def test_the_same_key_and_body_land_once_and_another_body_is_refused(
    row: Row, scene: Scene, programs: Programs
) -> None:
    history = scene.path("/projects/{project}/history?limit=500")
    first = row.send(programs.manager, scene, key="tap-1")
    assert first.status_code == row.status, first.text
    head = programs.manager.get(history).json()["checkpoint"]
    again = row.send(programs.manager, scene, key="tap-1")
    if row.once:
        assert all(first.json()[name] for name in row.once)
        assert again.json() == first.json() | dict.fromkeys(row.once)
    else:
        assert again.content == first.content
    assert again.status_code == first.status_code
    assert programs.manager.get(history).json()["checkpoint"] == head
    other = other_body(row, scene).send(programs.manager, scene, key="tap-1")
    assert_refused(other, 422, "bad-input" if row.path.endswith(NO_FIELDS) else "key-reused")
    assert programs.manager.get(history).json()["checkpoint"] == head


# Calls that take no field at all have no other body: whatever is sent is refused for itself.
NO_FIELDS = ("/checkpoints", "/timestamps", "/end")


def other_body(row: Row, scene: Scene) -> Row:
    """The same call with another right body: another file, or one text changed."""
    if row.file is not None:
        content = row.file()
        return Row(row.method, row.path, row.status, file=lambda: content + b"\x00", form=row.form)
    body = row.right_body(scene) or {}
    texts = [
        name for name, value in body.items() if isinstance(value, str) and name not in ("digest", "units")
    ]
    changed = {texts[-1]: f"{body[texts[-1]]} "} if texts else {"to": [101, 700]}
    return Row(row.method, row.path, row.status, body={**body, **changed}, may=row.may)


def test_every_row_of_the_contract_is_in_this_table() -> None:
    """The outside: the contract's own page, as it is written."""
    if not CONTRACT.is_file():
        pytest.skip("the contract's page is not beside this checkout")
    asked: set[tuple[str, str]] = set()
    for line in CONTRACT.read_text().splitlines():
        methods: list[str] = []
        for token in re.findall(
            r"\b(?:GET|POST|PUT)\b|/[\w{}/-]+", line.split("|")[1] if line[:3] == "| `" else ""
        ):
            if token.startswith("/"):
                asked |= {(method, re.sub(r"\{\w+\}", "{}", token)) for method in methods}
                methods = []
            else:
                methods.append(token)
    have = {(row.method, re.sub(r"\{\w+\}", "{}", row.path)) for row in ROWS if not row.later}
    assert asked == have


def test_a_page_of_the_service_may_call_with_its_own_sign_in(
    page_of: ClientOf, scene: Scene, cast: Any
) -> None:
    page = page_of(cast.manager)
    assert page.get(scene.path("/projects/{project}")).status_code == 200
    made = page.post("/api/v1/projects", json={"name": "A", "units": "metric", "time_zone": "Europe/Vienna"})
    assert made.status_code == 201
    from_elsewhere = page.post("/api/v1/projects", json={}, headers={"Sec-Fetch-Site": "cross-site"})
    assert_refused(from_elsewhere, 403, "cross-site")


def test_a_pages_token_is_no_bearer_token_and_a_bad_bearer_is_not_saved_by_a_cookie(
    page_of: ClientOf, cast: Any, client: httpx.Client
) -> None:
    page = page_of(cast.manager)
    token = page.cookies["laptight"]
    assert_refused(client.get("/api/v1/projects", headers={"Authorization": f"Bearer {token}"}), 401)
    assert_refused(page.get("/api/v1/projects", headers={"Authorization": "Bearer wrong"}), 401)
    for odd in ("Basic abc", "Bearer", "Bearer ", "", "bearer \x7f"):
        assert_refused(client.get("/api/v1/projects", headers={"Authorization": odd}), 401)
