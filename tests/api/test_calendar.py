"""The plan of pours and calendar links for programs."""

from __future__ import annotations

import httpx

from service.actions.frame.desk import Desk
from service.actions.sketches import zones
from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused
from tests.cast import NOON, Cast
from tests.on_disk import database_bytes
from tests.papers.ical_oracle import read


def test_a_program_reads_what_each_zone_needs_and_which_have_a_day(
    scene: Scene, desk: Desk, cast: Cast, programs: Programs
) -> None:
    zones.change_zone(desk, cast.manager.id, scene.ids["zone"], place_at=NOON)
    told = programs.inspector.get(scene.path("/projects/{project}/plan-of-pours")).json()
    assert told["today"] == "2026-11-25" and told["working_days"] == ["Mon", "Tue", "Wed", "Thu", "Fri"]
    assert told["paces"] == []
    assert [zone["letter"] for zone in told["zones"]] == ["B", "C", "D"]
    held, clear, _ = told["zones"]
    assert (held["day"], held["verdict"], held["expected"]) == ("2026-11-25", "no pace", None)
    assert held["needs"] == {"zone-hold": 1, "defect-open": 1, "defect-not-sealed": 1}
    left = {"before": 0, "expected": None}
    assert held["left"] == [{"kind": "sheets", "here": 4, **left}, {"kind": "marks", "here": 2, **left}]
    assert (clear["day"], clear["verdict"]) == (None, "nothing left")


def test_a_link_of_one_project_is_told_once_read_without_signing_in_and_ended(
    scene: Scene, desk: Desk, cast: Cast, programs: Programs, client: httpx.Client
) -> None:
    zones.change_zone(desk, cast.manager.id, scene.ids["zone"], place_at=NOON)
    lead, body = programs.lead, {"project": scene.ids["project"]}
    made = lead.post("/api/v1/calendar-links", json=body, headers={"Idempotency-Key": "tap"})
    again = lead.post("/api/v1/calendar-links", json=body, headers={"Idempotency-Key": "tap"})
    assert made.status_code == 201 and made.headers["cache-control"] == "no-store"
    assert again.json() == made.json() | {"link": None}
    token = made.json()["link"].rpartition("/")[2].removesuffix(".ics")
    assert token.encode() not in database_bytes(desk)
    path = f"/calendar/{token}.ics"
    assert [placing.text("SUMMARY")[:12] for placing in read(client.get(path).content).inside] == [
        "Place zone B"
    ]
    assert lead.get("/api/v1/calendar-links").json() == [again.json()]
    ended = lead.post(f"/api/v1/calendar-links/{made.json()['id']}/end")
    assert ended.json() == again.json() and client.get(path).status_code == 404
    assert lead.get("/api/v1/calendar-links").json() == []


def test_a_project_that_is_not_yours_and_one_that_is_not_are_refused_alike(
    cast: Cast, programs: Programs
) -> None:
    refused = [
        programs.lead.post("/api/v1/calendar-links", json={"project": project})
        for project in (cast.other_project_id, "0123456789abcdef0123")
    ]
    for answer in refused:
        assert_refused(answer, 422, "bad-input", "project")
    assert refused[0].content == refused[1].content
