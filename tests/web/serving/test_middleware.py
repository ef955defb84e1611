"""What stands round every request: where it came from, what it may carry, and the headers of every answer."""

from __future__ import annotations

from collections.abc import Iterator

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy.exc import OperationalError
from starlette.requests import Request
from starlette.responses import Response

from service.web.serving.bodies import MIB
from service.web.serving.guards import PLAIN_COOKIE
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.in_process import ADDRESS, InProcess, browser

COOKIE = {"Cookie": f"{PLAIN_COOKIE}=anything"}
BEARER = {"Authorization": "Bearer anything"}

# The twelve rows of the rule for unsafe methods. Source: OWASP's Cross-Site Request Forgery Prevention sheet
# (Fetch Metadata with Origin as its fallback), Go 1.25's CrossOriginProtection; the eleventh row is stricter.
ROWS = [
    ("same-origin", {**COOKIE, "Sec-Fetch-Site": "same-origin"}, True),
    ("typed or bookmarked", {**COOKIE, "Sec-Fetch-Site": "none"}, True),
    ("same-site", {**COOKIE, "Sec-Fetch-Site": "same-site", "Origin": ADDRESS}, False),
    ("cross-site", {**COOKIE, "Sec-Fetch-Site": "cross-site", "Origin": ADDRESS}, False),
    ("unknown value, other origin", {**COOKIE, "Sec-Fetch-Site": "x", "Origin": "http://evil.test"}, False),
    ("own origin", {**COOKIE, "Origin": ADDRESS}, True),
    ("other origin", {**COOKIE, "Origin": "http://evil.test"}, False),
    ("origin null", {**COOKIE, "Origin": "null"}, False),
    ("other port", {**COOKIE, "Origin": f"{ADDRESS}:8080"}, False),
    ("https against http", {**COOKIE, "Origin": ADDRESS.replace("http:", "https:")}, False),
    ("neither, with a cookie", COOKIE, False),
    ("neither, with a bearer token alone", BEARER, True),
]


@pytest.mark.parametrize(("row", "headers", "passes"), ROWS, ids=[row[0] for row in ROWS])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_the_twelve_rows(app: FastAPI, method: str, row: str, headers: dict[str, str], passes: bool) -> None:
    with httpx.Client(transport=InProcess(app), base_url=ADDRESS, headers=headers) as client:
        answer = client.request(method, "/nowhere")
    assert (answer.status_code != 403) is passes
    if not passes:
        assert "Sec-Fetch-Site" in answer.headers["vary"]


def test_a_cookie_beside_a_bearer_token_is_still_a_browser(app: FastAPI) -> None:
    headers = {**COOKIE, **BEARER, "Sec-Fetch-Site": "cross-site"}
    with httpx.Client(transport=InProcess(app), base_url=ADDRESS, headers=headers) as client:
        assert client.post("/nowhere").status_code == 403


def test_another_sites_form_cannot_sign_somebody_out(page_of: ClientOf, cast: Cast) -> None:
    lead = page_of(cast.lead)
    assert lead.post("/sign-out", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert lead.get("/").status_code == 200


# --- headers ---------------------------------------------------------------------------------------------


@pytest.fixture
def breaking(app: FastAPI) -> Iterator[httpx.Client]:
    """A browser on an app with routes that go wrong."""

    def breaks(request: Request) -> Response:
        raise RuntimeError("a secret that belongs in the log")

    def is_locked(request: Request) -> Response:
        raise OperationalError("statement", {}, Exception("database is locked"))

    app.add_route("/breaks", breaks)
    app.add_route("/locked", is_locked)
    app.add_route("/api/breaks", breaks)
    with browser(app) as client:
        yield client


def test_every_answer_carries_the_safe_headers(breaking: httpx.Client) -> None:
    """ASVS 5.0.0, 3.4.1 to 3.4.6, on pages, refusals, broken pages, files and what is not there."""
    answers = [
        breaking.get(path)
        for path in (
            "/sign-in",
            "/",
            "/nowhere",
            "/breaks",
            "/locked",
            "/static/look.css",
            "/static/no",
            "/forgot",
        )
    ]
    answers.append(breaking.post("/sign-in", headers={"Sec-Fetch-Site": "cross-site"}))
    answers.append(breaking.post("/sign-in", content=b"x" * (MIB + 1)))
    assert {answer.status_code for answer in answers} == {200, 303, 403, 404, 413, 500, 503}
    for answer in answers:
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert len(answer.headers["x-request-id"]) == 12
        assert "server" not in answer.headers
        assert "strict-transport-security" not in answer.headers


def test_over_https_browsers_are_told_to_stay_there_for_a_year(app: FastAPI) -> None:
    """ASVS 5.0.0, 3.4.1: at least one year, subdomains included."""
    with httpx.Client(transport=InProcess(app), base_url="https://laptight.test") as client:
        answers = [
            client.get("/sign-in"), client.get("/"), client.get("/no/such/page"), client.get("/zones/x"),
            client.get("/api/v1/projects"), client.get("/static/none.css"), client.get("/worker.js"),
            client.put("/sign-in"), client.post("/sign-out", headers={"Origin": "https://evil.test"}),
            client.post("/language", content=b"x" * 1_100_000),
        ]  # fmt: skip
    assert {answer.status_code for answer in answers} >= {200, 303, 401, 403, 404, 405, 413}
    for answer in answers:
        assert answer.headers["strict-transport-security"] == "max-age=31536000; includeSubDomains"


def test_nothing_of_the_frameworks_own_pages_is_served(client: httpx.Client) -> None:
    for path in ("/docs", "/redoc", "/openapi.json", "/metrics", "/debug", "/api/v1/docs"):
        assert client.get(path).status_code == 404


def test_a_page_is_packed_where_the_browser_takes_it(client: httpx.Client) -> None:
    answer = client.get("/sign-in", headers={"Accept-Encoding": "gzip"})
    assert answer.headers["content-encoding"] == "gzip"
    assert "Sign in" in answer.text


# --- trouble ---------------------------------------------------------------------------------------------


def test_a_broken_page_tells_its_number_and_nothing_else(
    breaking: httpx.Client, caplog: pytest.LogCaptureFixture
) -> None:
    answer = breaking.get("/breaks")
    assert answer.status_code == 500
    assert answer.headers["x-request-id"] in answer.text
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text
    assert answer.headers["x-request-id"] in caplog.text
    assert "a secret that belongs in the log" in caplog.text


def test_a_database_out_of_reach_asks_to_come_again(breaking: httpx.Client) -> None:
    answer = breaking.get("/locked")
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "5")
    assert "Nothing was recorded" in answer.text


def test_programs_are_told_in_json(breaking: httpx.Client) -> None:
    answer = breaking.get("/api/breaks")
    assert answer.status_code == 500
    assert set(answer.json()["error"]) == {"code", "message", "fields"}


def test_what_is_not_there_is_a_page_with_a_way_back(client: httpx.Client) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert 'href="/"' in answer.text
