"""What the log says of a request that broke: where and how, and nothing of what was sent or kept.

The database's own complaint is the danger: its library writes the values of the statement beside it.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import text
from starlette.requests import Request
from starlette.responses import Response

from service.actions import accounts
from service.actions.desk import Desk
from service.web import watching
from service.web.guards import PLAIN_COOKIE
from tests.cast import PASSWORD, Cast
from tests.conftest import POSTGRES, SQLITE
from tests.in_process import browser

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
