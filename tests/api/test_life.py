"""A zone's life and who did what, as JSON: held to the history the same program reads."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import httpx
import pytest

from service.actions.frame.desk import Desk
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf

API = "/api/v1"


def entries(client: httpx.Client, cast: Cast) -> dict[int, dict[str, Any]]:
    found = client.get(f"{API}/projects/{cast.project_id}/history?limit=500").json()["entries"]
    return {entry["seq"]: entry for entry in found}


def test_a_life_is_told_by_the_entries_of_the_history(
    desk: Desk, cast: Cast, clock: Clock, program_of: ClientOf
) -> None:
    zone = a_zone(desk, cast, letter="Q")
    mark = a_mark(desk, cast, zone)
    clock.go_on(minutes=90)
    a_walk(desk, cast, zone)
    a_patch(desk, cast, mark)
    a_release(desk, cast, zone)
    clock.go_on(hours=1)
    a_mark(desk, cast, zone)
    clock.go_on(seconds=30)
    client = program_of(cast.inspector)
    told = client.get(f"{API}/zones/{zone.id}/timeline").json()
    history = entries(client, cast)
    assert [(state["state"], history[state["began"]["entry"]]["type"]) for state in told["states"]] == [
        ("laying", "zone-outlined"), ("held", "walk-finished"), ("clear", "patch-logged"),
        ("ready to place", "zone-released"), ("held", "defect-marked"),
    ]  # fmt: skip
    assert [state["seconds"] for state in told["states"]] == [5400, 0, 0, 3600, 30]
    assert told["states"][-1]["ended"] is None and told["as_of"] == "2026-11-25T14:30:30.000000Z"
    for state, after in pairwise(told["states"]):
        began = history[state["began"]["entry"]]
        assert (state["began"]["at"], state["began"]["sentence"]) == (began["at"], began["sentence"])
        assert state["ended"] == after["began"]
    assert [(history[m["entry"]]["type"], m["open"], m["not_sealed"]) for m in told["marks"]] == [
        ("zone-outlined", 0, 0), ("defect-marked", 1, 0), ("patch-logged", 0, 0), ("defect-marked", 1, 0),
    ]  # fmt: skip
    done = {(d["kind"], d["type"], d["tag"], d["fell"]) for d in told["done"]}
    assert ("release and placing", "defect-marked", "Q-02", True) in done
    assert ("marks", "defect-marked", "Q-02", False) in done
    assert told["entries"] == max(history)


def test_counts_of_everybody_come_to_the_whole_history(
    desk: Desk, cast: Cast, clock: Clock, program_of: ClientOf
) -> None:
    clock.go_on(days=1)
    a_walk(desk, cast, a_zone(desk, cast, letter="Q"))
    client = program_of(cast.manager)
    told = client.get(f"{API}/projects/{cast.project_id}/who-did-what").json()
    history = entries(client, cast)
    assert sum(person["count"] for person in told["people"]) == told["entries"] == len(history)
    for person in told["people"]:
        own = [entry for entry in history.values() if entry["by_id"] == person["id"]]
        assert sum(person["by_type"].values()) == len(own) == person["count"]
        ends = [own[0]["seq"], own[-1]["seq"]] if own else [None, None]
        assert [(person[end] or {}).get("entry") for end in ("first", "last")] == ends
    (lead,) = (person for person in told["people"] if person["id"] == cast.lead.id)
    assert lead["name"] == "Lou Lead" and [role["role"] for role in lead["roles"]] == ["crew lead"]
    by_day = client.get(f"{API}/projects/{cast.project_id}/who-did-what/{cast.lead.id}").json()
    assert by_day["person"] == lead
    assert [(day["day"], day["count"]) for day in by_day["days"]] == [
        ("2026-11-26", 1), ("2026-11-25", lead["count"] - 1),
    ]  # fmt: skip
    assert by_day["days"][0]["first_at"] == by_day["days"][0]["last_at"] == "2026-11-26T12:00:00.000000Z"


@pytest.mark.parametrize("person", ["outsider", "nobody-at-all"])
def test_who_is_not_on_the_project_is_not_found(cast: Cast, program_of: ClientOf, person: str) -> None:
    name = cast.outsider.id if person == "outsider" else person
    answer = program_of(cast.inspector).get(f"{API}/projects/{cast.project_id}/who-did-what/{name}")
    assert answer.status_code == 404
