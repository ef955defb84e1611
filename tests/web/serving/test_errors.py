"""Every refusal has a status, the same one for pages and for programs, and pages say what to do."""

from __future__ import annotations

from collections.abc import Iterator

import httpx
import pytest
from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from service.api.shared import errors as api_errors
from service.domain.words import refusals as r
from service.web.serving import errors
from tests.in_process import browser


def kinds(of: type[r.Refusal] = r.Refusal) -> list[type[r.Refusal]]:
    """Every class of refusal there is."""
    return [kind for child in of.__subclasses__() for kind in (child, *kinds(child))]


EXAMPLES: list[tuple[r.Refusal, int]] = [
    (r.NotAllowed("A crew lead cannot release a zone."), 403),
    (r.NotFound(), 404),
    (r.NoScale(), 409),
    (r.FactsMoved(), 409),
    (r.ZoneHeld("Zone B is held.", ()), 409),
    (r.StillUnderWay(), 409),
    (r.TooLarge("Larger than 100 MB."), 413),
    (r.BadInput("No.", fields={"letter": "B is taken."}), 422),
    (r.KeyReused(), 422),
    (r.SlowDown("Wait.", 7), 429),
]


def test_pages_and_programs_share_one_table() -> None:
    assert errors.STATUS == api_errors.STATUS


def test_every_refusal_stands_under_a_row_of_the_table() -> None:
    assert [kind for kind in kinds() if not any(row in kind.__mro__ for row in errors.STATUS)] == []


@pytest.fixture
def refusing(app: FastAPI) -> Iterator[httpx.Client]:
    """A browser on an app where /refusal/N raises the N-th example."""

    def refuse(request: Request) -> Response:
        raise EXAMPLES[int(request.path_params["number"])][0]

    app.add_route("/refusal/{number}", refuse, methods=["GET", "POST"])
    app.add_route("/api/refusal/{number}", refuse, methods=["GET", "POST"])
    with browser(app) as client:
        yield client


@pytest.mark.parametrize("number", range(len(EXAMPLES)))
def test_a_refusal_that_no_page_catches_has_a_page_of_its_own(refusing: httpx.Client, number: int) -> None:
    refusal, status = EXAMPLES[number]
    page, told = refusing.get(f"/refusal/{number}"), refusing.get(f"/api/refusal/{number}")
    assert page.status_code == told.status_code == status
    assert refusal.message.replace("'", "&#39;") in page.text
    assert told.json()["error"]["code"] == refusal.code
    assert all(words in page.text for words in refusal.fields.values())


def test_the_page_leads_back_to_where_one_came_from_and_never_to_another_site(refusing: httpx.Client) -> None:
    here = refusing.post("/refusal/0", headers={"Referer": f"{refusing.base_url}/zones/z/release"})
    assert 'href="/zones/z/release"' in here.text
    away = refusing.post("/refusal/0", headers={"Referer": "http://evil.test/zones"})
    assert "evil.test" not in away.text


def test_slowing_down_says_for_how_long(refusing: httpx.Client) -> None:
    assert refusing.get("/refusal/9").headers["retry-after"] == "7"


def test_another_persons_thing_and_a_thing_that_never_was_look_the_same(refusing: httpx.Client) -> None:
    for prefix in ("", "/api"):
        assert refusing.get(f"{prefix}/refusal/1").content == refusing.get(f"{prefix}/never/was").content


def test_a_wrong_method_names_the_right_ones(refusing: httpx.Client) -> None:
    answer = refusing.post("/forgot")
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET")
