"""What the log says of a request that broke: where and how, and nothing of what was sent or kept.

The database's own complaint is the danger: its library writes the values of the statement beside it.
"""

from __future__ import annotations

import json
import logging
import traceback
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import text
from sqlalchemy.exc import DataError, IntegrityError
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.settings import Settings
from service.storage.accounts import people
from service.storage.accounts.people import Person
from service.web.serving import watching
from service.web.serving.guards import PLAIN_COOKIE
from tests.cast import PASSWORD, Cast
from tests.conftest import POSTGRES, SQLITE
from tests.in_process import browser, quick_app

TYPED = "canary-9c2e-typed"


@pytest.fixture
def broken(app: FastAPI, desk: Desk, caplog: pytest.LogCaptureFixture) -> Iterator[httpx.Client]:
    """A browser on a service with one more route, which reads its form and breaks."""
    caplog.set_level(logging.DEBUG)

    async def breaks(request: Request) -> Response:
        await request.form()
        raise ValueError("this route is broken")

    app.add_route("/breaks", breaks, methods=["POST"])
    with browser(app, raises=False) as client:
        yield client


def told(caplog: pytest.LogCaptureFixture) -> str:
    """Everything logged, as the service writes it."""
    return "\n".join(watching.OneLine().format(record) for record in caplog.records if record.name != "httpx")


@pytest.mark.parametrize("engine", (SQLITE, POSTGRES), indirect=True)
def test_a_row_that_the_database_refuses_is_logged_without_what_stands_in_it(
    desk: Desk, engine: str, caplog: pytest.LogCaptureFixture
) -> None:
    """PostgreSQL's DETAIL of a broken constraint repeats the row ("Key (email)=(...) already exists.":
    its manual on reporting errors, from memory)."""
    email = f"{TYPED}@example.com"
    twice = [Person("one", email, TYPED), Person("two", email, TYPED)]
    with pytest.raises(IntegrityError) as refused, desk.writing() as session:
        for person in twice:
            people.add(session, person, TYPED, desk.clock())
            session.flush()
    logging.getLogger("laptight").error("a request broke", exc_info=refused.value)
    said = told(caplog) + "".join(traceback.format_exception(refused.value))
    assert "people.add" in said or "add(session" in said, "where it broke is told"
    assert TYPED not in said
    if engine == POSTGRES:
        assert "SQLSTATE 23505" in said and "email" in said, "and which constraint"


@pytest.mark.parametrize("engine", (POSTGRES,), indirect=True)
def test_a_value_that_the_database_cannot_read_is_not_logged(
    desk: Desk, caplog: pytest.LogCaptureFixture
) -> None:
    with pytest.raises(DataError) as refused, desk.writing() as session:
        session.connection().execute(text("SELECT CAST(CAST(:said AS text) AS integer)"), {"said": TYPED})
    logging.getLogger("laptight").error("a request broke", exc_info=refused.value)
    said = told(caplog) + "".join(traceback.format_exception(refused.value))
    assert "SQLSTATE 22P02" in said and TYPED not in said


@pytest.mark.parametrize("engine", (SQLITE, POSTGRES), indirect=True)
def test_a_statement_that_fails_is_logged_without_its_values(
    broken: httpx.Client, desk: Desk, cast: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    with desk.writing() as session:
        session.connection().execute(text("ALTER TABLE person RENAME TO elsewhere"))
    form = {"email": f"{TYPED}@example.com", "password": PASSWORD}
    answer = broken.post("/sign-in", data=form)
    assert answer.status_code in (500, 503)
    assert answer.headers["x-request-id"] in told(caplog) and "FROM person" in told(caplog)
    for secret in (TYPED, PASSWORD):
        assert secret not in told(caplog) and secret not in answer.text
    with desk.writing() as session:
        session.connection().execute(text("ALTER TABLE elsewhere RENAME TO person"))


def test_a_route_that_breaks_is_logged_without_body_cookie_authorization_or_query(
    broken: httpx.Client, desk: Desk, cast: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id)
    broken.cookies.set(PLAIN_COOKIE, token)
    bearer, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PROGRAM)
    headers = {"Authorization": f"Bearer {bearer}", "Idempotency-Key": f"{TYPED}-key"}
    answer = broken.post(f"/breaks?note={TYPED}", data={"password": PASSWORD, "note": TYPED}, headers=headers)
    assert answer.status_code == 500
    assert "this route is broken" in told(caplog)
    for secret in (
        TYPED,
        PASSWORD,
        token,
        bearer,
        accounts.token_sha256(token),
        cast.lead.email,
        cast.lead.name,
    ):
        assert secret not in told(caplog) and secret not in answer.text


def test_no_address_makes_a_line_of_its_own_in_the_log(
    broken: httpx.Client, app: FastAPI, caplog: pytest.LogCaptureFixture
) -> None:
    """ASVS 5.0.0, 16.4.1, also where the log is plain text."""

    def breaks(request: Request) -> Response:
        raise ValueError("this route is broken")

    app.add_route("/breaks/{what}", breaks)
    assert broken.get("/breaks/a%0A2026-11-25 ERROR all is lost%0D%1B[2J").status_code == 500
    (record,) = (record for record in caplog.records if record.name == "laptight")
    assert record.getMessage().isprintable() and "all%20is%20lost" in record.getMessage()


def test_every_way_in_and_every_refusal_is_a_line(
    broken: httpx.Client, app: FastAPI, data: Path, cast: Cast, desk: Desk, caplog: pytest.LogCaptureFixture
) -> None:
    """ASVS 5.0.0, 16.3.1 to 16.3.3: by route and outcome; who it was is not for the log (16.2.5)."""
    watched = quick_app(Settings.read(data, environ={"LAPTIGHT_LOG": "json"}), clock=desk.clock)
    with browser(watched) as client:
        for password in ("not this one at all", PASSWORD):
            client.post("/sign-in", data={"email": cast.inspector.email, "password": password})
        client.post(f"/projects/{cast.project_id}/ready-lists", data={"label": "placer"})
        client.get(f"/projects/{cast.other_project_id}/office")
        client.post("/sign-out", headers={"Sec-Fetch-Site": "cross-site"})
        client.post("/language", content=b"x" * 1_100_000)
        client.post("/sign-out")
    watched.state.desk.database.close()
    lines = [
        json.loads(watching.OneLine().format(r)) for r in caplog.records if r.name == "laptight.requests"
    ]
    assert [(line["route"], line["status"]) for line in lines] == [
        ("/sign-in", 422),
        ("/sign-in", 303),
        ("/projects/{project_id}/ready-lists", 403),
        ("/projects/{project_id}/office", 404),
        (watching.NO_ROUTE, 403),
        (watching.NO_ROUTE, 413),
        ("/sign-out", 303),
    ]
    assert all(datetime.fromisoformat(line["at"]).utcoffset() == timedelta(0) for line in lines)
    assert PASSWORD not in told(caplog) and cast.inspector.email not in told(caplog)
