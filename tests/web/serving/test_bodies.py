"""Bodies that are too large, that lie about their length, and that come too slowly."""

from __future__ import annotations

import asyncio
import logging
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import httpx
import pytest
import uvicorn
from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import Message, Receive, Scope, Send

from service.web.serving import bodies
from service.web.serving.bodies import FIRST_S, LEAST_RATE, LONGEST_S, MIB, BodyLimit, most_bytes, patience
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.in_process import browser


@pytest.fixture
def breaking(app: FastAPI) -> Iterator[httpx.Client]:
    """A browser on an app with routes that take whatever comes, and call what they cannot read a 400."""

    async def swallows(request: Request) -> Response:
        try:
            body = await request.body()
        except Exception:
            return PlainTextResponse("cannot read that", 400)
        return PlainTextResponse(str(len(body)))

    app.add_route("/api/swallows", swallows, methods=["POST"])
    with browser(app) as client:
        yield client


@pytest.mark.parametrize(
    ("path", "kind", "most"),
    [
        ("/projects/p/sketches", "multipart/form-data; boundary=x", 101 * MIB),
        ("/api/v1/projects/p/sketches", "multipart/form-data; boundary=x", 101 * MIB),
        ("/sketches/s/revise", "multipart/form-data; boundary=x", 101 * MIB),
        ("/projects/p/checkpoints/check", "multipart/form-data; boundary=x", 101 * MIB),
        ("/projects/p/checkpoints", "multipart/form-data; boundary=x", 16 * MIB),
        ("/zones/z/mark", "multipart/form-data; boundary=x", 16 * MIB),
        ("/api/v1/defects/d/photos", "multipart/form-data; boundary=x", 16 * MIB),
        ("/sign-in", "multipart/form-data; boundary=x", MIB),
        ("/join/t", "multipart/form-data; boundary=x", MIB),
        ("/projects/p/sketches", "application/json", MIB),
        ("/zones/z/mark", "application/x-www-form-urlencoded", MIB),
        ("/zones/z/mark", "", MIB),
    ],
)
def test_how_large_a_body_each_path_takes(path: str, kind: str, most: int) -> None:
    assert most_bytes(path, kind) == most


def test_a_body_that_says_it_is_too_large_is_not_read(breaking: httpx.Client) -> None:
    assert breaking.post("/api/swallows", content=b"x" * (MIB + 1)).status_code == 413
    assert breaking.post("/api/swallows", content=b"x" * MIB).text == str(MIB)


def test_a_body_that_lies_about_its_length_is_counted_as_it_comes(breaking: httpx.Client) -> None:
    for told in ({"Content-Length": "5"}, {"Transfer-Encoding": "chunked"}):
        request = breaking.build_request("POST", "/api/swallows", content=b"x" * (MIB + 1))
        del request.headers["content-length"]
        request.headers.update(told)
        answer = breaking.send(request)
        assert answer.status_code == 413
        assert answer.json()["error"]["code"] == "too-large"


def test_nothing_more_is_taken_in_once_a_body_is_too_large(app: FastAPI) -> None:
    """An endless body is left after the piece that goes past the limit."""
    asked, sent = 0, []

    async def endless() -> Message:
        nonlocal asked
        asked += 1
        return {"type": "http.request", "body": b"x" * (MIB // 4), "more_body": asked < 1_000}

    async def send(message: Message) -> None:
        sent.append(message)

    async def reads_all(scope: object, receive: object, send: object) -> None:
        await Request(scope, receive).body()  # type: ignore[arg-type]

    limited = BodyLimit(reads_all, lambda request, status: Response(status_code=status))
    scope = {"type": "http", "method": "POST", "path": "/a", "headers": [], "query_string": b""}
    asyncio.run(limited(scope, endless, send))
    assert sent[0]["status"] == 413
    assert asked == 5


# --- slowly ----------------------------------------------------------------------------------------------

SCOPE = {"type": "http", "method": "POST", "path": "/a", "headers": [], "query_string": b""}


def how_it_goes(pieces: list[tuple[float, int]], works_s: float = 0) -> tuple[int, int]:
    """The status for a body whose pieces each came after so many seconds with so many bytes, and how many
    bytes the app was given. `works_s`: what the app takes over each piece."""
    now, left, given, sent = 0.0, list(pieces), 0, list[Message]()

    async def receive() -> Message:
        nonlocal now
        after, size = left.pop(0)
        now += after
        return {"type": "http.request", "body": b"x" * size, "more_body": bool(left)}

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        nonlocal given, now
        async for piece in Request(scope, receive).stream():
            given += len(piece)
            now += works_s
        await Response("whole")(scope, receive, send)

    async def send(message: Message) -> None:
        sent.append(message)

    limited = BodyLimit(app, lambda request, status: Response(status_code=status), clock=lambda: now)
    asyncio.run(limited(dict(SCOPE), receive, send))
    return sent[0]["status"], given


def test_a_body_may_be_waited_for_a_minute_and_for_its_bytes_at_the_least_rate() -> None:
    """The way and the rate of Apache's mod_reqtimeout (its manual: default body=20,MinRate=500)."""
    assert (patience(0), patience(50_000)) == (60, 160)
    assert patience(100_000_000) == LONGEST_S == 1800


def test_one_that_stalls_for_most_of_a_minute_is_taken() -> None:
    assert how_it_goes([(55, 300), (3, 300)]) == (200, 600)


def test_one_that_keeps_the_least_rate_is_taken_however_long_it_takes() -> None:
    assert how_it_goes([(20, 20 * LEAST_RATE)] * 60) == (200, 60 * 20 * LEAST_RATE)


def test_one_that_dribbles_is_left_when_its_time_is_up() -> None:
    status, given = how_it_goes([(1, 1)] * 1_000)
    assert status == 408
    assert FIRST_S - 1 <= given <= FIRST_S + 2


def test_the_time_that_the_app_takes_over_a_piece_is_not_the_senders() -> None:
    assert how_it_goes([(5, 10)] * 10, works_s=300) == (200, 100)


def test_one_that_never_comes_is_left_and_one_that_came_is_waited_for_no_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """After its body an app may wait for the sender to go away: nobody is cut off then."""
    monkeypatch.setattr(bodies, "FIRST_S", 0.1)

    def answered(first: Message | None) -> int:
        come, sent = [first] if first else [], list[Message]()

        async def receive() -> Message:
            if come:
                return come.pop()
            await asyncio.sleep(0.5)
            return {"type": "http.disconnect"}

        async def app(scope: Scope, receive: Receive, send: Send) -> None:
            while (await receive())["type"] != "http.disconnect":
                pass
            await Response("whole")(scope, receive, send)

        async def send(message: Message) -> None:
            sent.append(message)

        limited = BodyLimit(app, lambda request, status: Response(status_code=status))
        asyncio.run(limited(dict(SCOPE), receive, send))
        return int(sent[0]["status"])

    assert answered(None) == 408
    assert answered({"type": "http.request", "body": b"", "more_body": False}) == 200


def test_whoever_dribbles_is_answered_and_cut_off_and_what_half_came_is_not_recorded(
    app: FastAPI,
    program_of: ClientOf,
    cast: Cast,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """RFC 9110, 15.5.9: 408 and the connection closed. The same key sends it again, once."""
    monkeypatch.setattr(bodies, "FIRST_S", 0.3)
    manager, body = program_of(cast.manager), b'{"name": "Slow slab", "units": "us", "time_zone": "UTC"}'
    key = {"Idempotency-Key": "slow-1"}
    head = manager.build_request("POST", "/api/v1/projects", content=body, headers=key)
    lines = b"".join(b"%s: %s\r\n" % pair for pair in head.headers.raw)
    with served(app) as port, socket.create_connection(("127.0.0.1", port), timeout=30) as line:
        line.sendall(b"POST /api/v1/projects HTTP/1.1\r\n" + lines + b"\r\n" + body[:10])
        came = b""
        while more := line.recv(65_536):  # until it is closed
            came += more
    assert came.startswith(b"HTTP/1.1 408 ") and b'"code":"too-slow"' in came
    assert b"connection: close\r\n" in came.lower()
    assert "Slow slab" not in manager.get("/api/v1/projects").text
    monkeypatch.undo()
    first, again = (
        manager.post("/api/v1/projects", content=body, headers={**key, "Content-Type": "application/json"})
        for _ in range(2)
    )
    assert (first.status_code, again.status_code) == (201, 201) and first.text == again.text
    assert manager.get("/api/v1/projects").text.count("Slow slab") == 1


def test_a_page_that_came_too_slowly_says_so_and_nothing_is_called_broken(
    app: FastAPI, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(bodies, "FIRST_S", 0.0)
    with browser(app) as phone:
        answer = phone.post("/sign-in", data={"email": "a@example.com", "password": "x"})
    assert answer.status_code == 408
    assert not [each for each in caplog.records if each.levelno >= logging.WARNING]  # nothing is broken
    assert "came too slowly" in answer.text and "Nothing was recorded" in answer.text


@contextmanager
def served(app: FastAPI) -> Iterator[int]:
    """The port of the app while it is served by the server it is run with."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn.Config(app, http="httptools", lifespan="off", log_config=None, access_log=False)
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()
