"""For whatever watches the service: it lives, can work, counts and logs, and no secret gets into either."""

from __future__ import annotations

import json
import logging
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance.accounts import Person
from service.app import TELLING_EVERY_S, rest_after
from service.settings import Settings
from service.web.serving import watching
from tests.cast import Cast
from tests.in_process import browser, quick_app


def test_a_service_that_lives_and_can_work_says_so(client: httpx.Client) -> None:
    assert client.get("/health").text == "alive\n"
    told = client.get("/health/ready")
    assert (told.status_code, told.text) == (200, "ready\n")


def test_one_whose_database_is_gone_is_alive_and_not_ready(
    client: httpx.Client, app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(*_: object) -> None:
        raise OSError("no such file: /somewhere/secret")

    monkeypatch.setattr("service.storage.doors.readiness.answers", gone)
    told = client.get("/health/ready")
    assert (told.status_code, told.text, told.headers["Retry-After"]) == (503, "not ready\n", "5")
    assert client.get("/health").status_code == 200


def test_one_that_has_no_room_for_pictures_is_not_ready(client: httpx.Client, app: FastAPI) -> None:
    coming = app.state.desk.blobs.folder / "coming"
    coming.rename(coming.with_name("elsewhere"))
    coming.write_bytes(b"no folder")
    assert client.get("/health/ready").status_code == 503


@pytest.fixture
def watched(data: Path, cast: Cast, caplog: pytest.LogCaptureFixture) -> FastAPI:
    caplog.set_level(logging.INFO, "laptight.requests")
    return quick_app(Settings.read(data, environ={"LAPTIGHT_LOG": "json"}))


def test_a_request_is_a_line_by_its_route_and_holds_nobodys_name_id_or_secret(
    watched: FastAPI, cast: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    secret = "canary-7f3a-secret-of-a-link"
    with browser(watched) as phone:
        phone.get(f"/ready/{secret}")
        phone.get(f"/join/{secret}?note={secret}")
        phone.post("/sign-in", data={"email": cast.lead.email, "password": secret})
        phone.get(f"/projects/{cast.project_id}/office")
        phone.get("/no/such/page")
        phone.get("/api/v1/projects")
    watched.state.desk.database.close()
    lines = [
        json.loads(watching.OneLine().format(record))
        for record in caplog.records
        if record.name == "laptight.requests"
    ]
    assert [(line["method"], line["route"], line["status"]) for line in lines] == [
        ("GET", "/ready/{token}", 404),
        ("GET", "/join/{token}", 404),
        ("POST", "/sign-in", 422),
        ("GET", "/projects/{project_id}/office", 303),
        ("GET", watching.NO_ROUTE, 404),
        ("GET", "/api/v1/projects", 401),
    ]
    text = "\n".join(watching.OneLine().format(record) for record in caplog.records)
    for canary in (secret, cast.lead.email, cast.lead.name, cast.lead.id, cast.project_id):
        assert canary not in text
    assert all(line["ms"] >= 0 and len(line["request"]) == 12 for line in lines)


def test_what_broke_is_one_line_too() -> None:
    try:
        raise ValueError("two\nlines")
    except ValueError:
        record = logging.LogRecord("laptight", logging.ERROR, "", 0, "request %s", ("ab",), sys.exc_info())
    line = watching.OneLine().format(record)
    assert "\n" not in line
    told = json.loads(line)
    assert told["what"] == "request ab" and "ValueError: two" in told["trouble"]
    assert told["at"].endswith("+00:00")


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


COUNTING = """
import os, sys, threading, urllib.request
from service.web.serving import metrics
from service.web.serving.watching import Passed
metrics.open_at(sys.argv[1])
count = metrics.counter()
for seconds in (0.004, 0.3):
    count(Passed("GET", "/zones/{zone_id}", 200, seconds, "n"))
count(Passed("GET", "/zones/{zone_id}", 404, 0.004, "n"))
print(urllib.request.urlopen(f"http://{sys.argv[1]}/metrics").read().decode())
"""


def test_requests_are_counted_by_route_at_an_address_of_their_own() -> None:
    said = subprocess.run(
        [sys.executable, "-c", COUNTING, f"127.0.0.1:{free_port()}"],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    ).stdout
    assert 'laptight_request_seconds_count{method="GET",route="/zones/{zone_id}",status="2xx"} 2.0' in said
    assert (
        'laptight_request_seconds_bucket{le="0.25",method="GET",route="/zones/{zone_id}",status="2xx"} 1.0'
        in said
    )
    assert 'laptight_request_seconds_count{method="GET",route="/zones/{zone_id}",status="4xx"} 1.0' in said


def test_counts_are_not_served_beside_the_pages(
    client: httpx.Client, page_of: Callable[[Person], httpx.Client], cast: Cast
) -> None:
    assert client.get("/metrics").status_code == 404
    assert page_of(cast.manager).get("/metrics").status_code == 404


def test_however_long_a_look_for_turns_takes_people_have_nine_tenths_of_the_time() -> None:
    assert rest_after(0.01) == TELLING_EVERY_S
    for took in (1.0, 12.0, 300.0):
        rest = rest_after(took)
        assert rest >= TELLING_EVERY_S and took / (took + rest) <= 0.1 + 1e-9
