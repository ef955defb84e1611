"""Ready lists for programs: opened and withdrawn signed in, read by the link alone."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from pydantic import TypeAdapter

from service.actions.frame.desk import Desk
from service.api.office.ready import ReadyList
from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused
from tests.builders import HOLE
from tests.on_disk import database_bytes


def open_one(programs: Programs, scene: Scene, **headers: str) -> dict[str, Any]:
    answer = programs.manager.post(
        scene.path("/projects/{project}/ready-lists"), json={"label": "concrete sub"}, headers=headers
    )
    assert answer.status_code == 201 and answer.headers["cache-control"] == "no-store"
    found: dict[str, Any] = answer.json()
    return found


def test_a_program_without_an_account_reads_which_zones_are_ready(
    scene: Scene, client: httpx.Client, programs: Programs
) -> None:
    token = open_one(programs, scene)["link"].rpartition("/")[2]
    answer = client.get(f"/api/v1/ready/{token}")
    assert answer.status_code == 200 and answer.headers["cache-control"] == "private, no-cache"
    told = answer.json()
    TypeAdapter(ReadyList).validate_json(answer.content)
    gates = {
        name: programs.manager.get(scene.path(f"/zones/{{{name}}}/gate")).json()
        for name in ("zone", "clear", "released")
    }
    assert {zone["letter"]: zone["state"] for zone in told["zones"]} == {
        "B": "not ready", "C": "not ready", "D": gates["released"]["state"],
    }  # fmt: skip
    [ready] = [zone for zone in told["zones"] if zone["state"] == "ready to place"]
    digest = gates["released"]["digest"].partition(":")[2]
    assert ready["release_mark"].endswith(f", {digest[:4]} {digest[4:8]}")
    newest = programs.manager.get(scene.path("/projects/{project}/history?limit=500")).json()["entries"][-1]
    assert told["as_of"] == {"at": newest["at"], "entry": newest["seq"], "entry_at": newest["at"]}


def test_a_mark_turns_a_zone_not_ready_in_the_very_next_answer(
    scene: Scene, client: httpx.Client, programs: Programs
) -> None:
    path = f"/api/v1/ready/{scene.ids['ready']}"
    first = client.get(path)
    mark = {"kind": "hole", "at": [300, 900], "outline": HOLE}
    assert programs.lead.post(scene.path("/zones/{released}/defects"), json=mark).status_code == 201
    second = client.get(path, headers={"If-None-Match": first.headers["etag"]})
    states = [{zone["letter"]: zone["state"] for zone in told.json()["zones"]} for told in (first, second)]
    assert [told["D"] for told in states] == ["ready to place", "not ready"]


def test_a_link_is_told_once_whatever_is_asked_again(scene: Scene, desk: Desk, programs: Programs) -> None:
    first = open_one(programs, scene, **{"Idempotency-Key": "tap"})
    again = open_one(programs, scene, **{"Idempotency-Key": "tap"})
    assert first["link"] and again == first | {"link": None}
    listed = programs.manager.get(scene.path("/projects/{project}/ready-lists")).json()
    assert {one["id"]: one["link"] for one in listed} == {again["id"]: None, scene.ids["link"]: None}
    kept = database_bytes(desk)
    assert first["id"].encode() in kept and first["link"].rpartition("/")[2].encode() not in kept


def test_a_withdrawn_link_is_not_there(scene: Scene, client: httpx.Client, programs: Programs) -> None:
    path = scene.path("/ready-lists/{link}/withdraw")
    assert programs.manager.post(path, json={"reason": "Sent astray"}).json()["withdrawn"] == "Sent astray"
    assert_refused(client.get(f"/api/v1/ready/{scene.ids['ready']}"), 404, "not-found")
    assert_refused(programs.manager.post(path, json={"reason": "Again"}), 409, "withdrawn-already")


@pytest.mark.parametrize("token", ["x", "%00", "%F0%28%8C%28", "a" * 5000, "..", "%2e%2e"])
def test_a_secret_that_is_none_is_not_there_in_the_same_bytes(client: httpx.Client, token: str) -> None:
    nowhere = client.get("/api/v1/nothing/like/it")
    answer = client.get(f"/api/v1/ready/{token}")
    assert_refused(answer, 404, "not-found")
    assert answer.content == nowhere.content
