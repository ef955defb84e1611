"""A request that tells two lengths: where it ends must not be a matter of opinion.

RFC 9112, section 6.3: with both Transfer-Encoding and Content-Length the first counts or it is refused,
and two lengths that differ are refused. What came after it must never be answered as a request of its own.
"""

from __future__ import annotations

import asyncio
import socket
import threading
from collections.abc import Iterator
from contextlib import suppress

import pytest
import uvicorn
from fastapi import FastAPI

HIDDEN = b"GET /health HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"
SMUGGLED = {
    "two lengths that differ": b"Content-Length: 0\r\nContent-Length: %d\r\n\r\n" % len(HIDDEN),
    "a length that is none": b"Content-Length: +0\r\n\r\n",
    "a length in two words": b"Content-Length: 0, %d\r\n\r\n" % len(HIDDEN),
    "both, the length reaching on": b"Transfer-Encoding: chunked\r\nContent-Length: 400\r\n\r\n0\r\n\r\n",
    "an encoding that is almost chunked": b"Transfer-Encoding: xchunked\r\n\r\n0\r\n\r\n",
    "an encoding behind a blank": b"Transfer-Encoding : chunked\r\n\r\n0\r\n\r\n",
    "a folded head": b"Transfer-Encoding:\r\n chunked\r\nContent-Length: 5\r\n\r\n0\r\n\r\n",
    "a chunk whose size is none": b"Transfer-Encoding: chunked\r\n\r\nzz\r\n\r\n",
}


@pytest.fixture
def port(app: FastAPI) -> Iterator[int]:
    """Where the service listens, by the server and the parser that it is run with."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(16)
        config = uvicorn.Config(app, http="httptools", lifespan="off", log_config=None, access_log=False)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=lambda: asyncio.run(server.serve(sockets=[listening])))
        thread.start()
        yield listening.getsockname()[1]
        server.should_exit = True
        thread.join()


def answers(port: int, sent: bytes) -> list[int]:
    """The statuses of everything that came back on one connection, until it was closed or stayed silent."""
    came = b""
    with socket.create_connection(("127.0.0.1", port), timeout=1) as line, suppress(TimeoutError):
        line.sendall(sent)
        while more := line.recv(65_536):
            came += more
    return [int(part[:3]) for part in came.split(b"HTTP/1.1 ")[1:]]


def test_the_server_answers_two_true_requests_on_one_line(port: int) -> None:
    first = b"GET /health HTTP/1.1\r\nHost: a\r\n\r\n"
    assert answers(port, first + HIDDEN) == [200, 200]


@pytest.mark.parametrize("name", SMUGGLED)
def test_what_follows_a_request_of_two_lengths_is_answered_by_nobody(port: int, name: str) -> None:
    """ASVS 5.0.0, 4.2.1."""
    sent = b"POST /type-size HTTP/1.1\r\nHost: a\r\n" + SMUGGLED[name] + HIDDEN
    assert 200 not in answers(port, sent), name
