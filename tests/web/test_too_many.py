"""A caller that asks for more than people and phones do is told to wait: on pages, in calls, in what a phone
is answered, and at the links that take no sign-in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance.counting import Counted
from service.actions.frame.desk import Desk
from service.actions.office import ready_lists
from service.actions.placing import calendars
from service.app import make_app
from service.settings import Settings
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.in_process import browser

FEW = 40
AGAIN = {"Laptight-Outbox": "1", "Idempotency-Key": "0123456789abcdef0123456789abcdef"}


@pytest.fixture
def busy(app: FastAPI) -> FastAPI:
    app.state.counted = Counted(FEW)
    return app


def first_refused(ask: Callable[[], httpx.Response]) -> httpx.Response:
    for _ in range(FEW + 2):
        answer = ask()
        if answer.status_code == 429:
            return answer
        assert answer.status_code < 500
    return ask()


def held_to(answer: httpx.Response) -> None:
    assert answer.status_code == 429
    assert 0 < int(answer.headers["Retry-After"]) <= 600


def test_a_page_says_how_long_to_wait(busy: FastAPI, page_of: ClientOf, cast: Cast) -> None:
    with page_of(cast.manager) as client:
        answer = first_refused(lambda: client.get("/told"))
    held_to(answer)
    assert "Too many requests. Wait" in answer.text and "no-store" in answer.headers["Cache-Control"]


def test_a_program_is_told_in_the_contracts_shape(busy: FastAPI, program_of: ClientOf, cast: Cast) -> None:
    with program_of(cast.manager) as client:
        answer = first_refused(lambda: client.get("/api/v1/projects"))
    held_to(answer)
    assert answer.json()["error"]["code"] == "slow-down"


def test_what_waited_on_a_phone_is_told_so_that_it_stays_and_is_sent_later(
    busy: FastAPI, page_of: ClientOf, cast: Cast
) -> None:
    headers = AGAIN | {"Laptight-Person": cast.lead.id, "Accept": "application/vnd.laptight.receipt+json"}
    with page_of(cast.lead) as client:
        answer = first_refused(lambda: client.post("/zones/x/mark", data={}, headers=headers))
        held_to(answer)
        assert answer.json()["error"]["code"] == "slow-down"
        held_to(client.head("/blobs/" + "0" * 64))


def test_pages_and_calls_of_one_person_count_together(
    busy: FastAPI, page_of: ClientOf, program_of: ClientOf, cast: Cast
) -> None:
    with page_of(cast.manager) as client, program_of(cast.manager) as program:
        first_refused(lambda: client.get("/told"))
        held_to(program.get("/api/v1/projects"))
    with page_of(cast.lead) as other:
        assert other.get("/told").status_code == 200


def test_links_that_take_no_sign_in_are_counted_by_the_address_that_asks(
    busy: FastAPI, desk: Desk, cast: Cast
) -> None:
    ready = ready_lists.open_ready_list(desk.fresh(), cast.manager.id, cast.project_id, "dispatcher").token
    feed = calendars.make_link(desk.fresh(), cast.manager.id, cast.project_id).token
    paths = (f"/ready/{ready}", f"/calendar/{feed}.ics", f"/api/v1/ready/{ready}", "/ready/nothing")
    with browser(busy) as client:
        seen = [client.get(path).status_code for path in paths]
        assert seen == [200, 200, 200, 404]
        held_to(first_refused(lambda: client.get("/ready/nothing")))
        for path in paths:
            held_to(client.get(path))
        assert client.get("/sign-in").status_code == 200, "signing in has a count of its own"


def test_the_setting_is_a_whole_number_or_nothing(data: Path) -> None:
    for text, most in (("", 12_000), ("0", 0), ("500", 500)):
        settings = Settings.read(data, environ={"LAPTIGHT_MOST_REQUESTS": text})
        app = make_app(settings)
        assert app.state.counted.most == most
        app.state.desk.database.close()
    with pytest.raises(ValueError, match="LAPTIGHT_MOST_REQUESTS"):
        Settings.read(data, environ={"LAPTIGHT_MOST_REQUESTS": "many"})
