"""The real app through httpx without a socket, for tests that are plain functions."""

from __future__ import annotations

import asyncio
from functools import cache
from typing import Any
from unittest import mock

import httpx
from fastapi import FastAPI
from starlette.routing import BaseRoute

from service.app import make_app
from service.settings import Settings

ADDRESS = "http://laptight.test"


@cache
def _included() -> list[BaseRoute]:
    """The service's routes, to lend to every app of this process. Set by the first app that was made."""
    return []


def quick_app(settings: Settings, **given: Any) -> FastAPI:
    """`make_app` on a database that is up to date, whose included routes are worked out once a process.

    FastAPI works them out for each app anew, on its first requests, and that takes longer than most tests.
    The app itself, its state, middleware and list of routes are its own. Not for `dependency_overrides`.
    """
    with mock.patch("service.app.migrate"):
        made, lent = make_app(settings, **given), _included()
    if not lent:
        lent.extend(made.router.routes)
    assert list(map(type, lent)) == list(map(type, made.router.routes))
    made.router.routes[:] = lent
    return made


class InProcess(httpx.BaseTransport):
    """Runs each request in an event loop of its own, so that threads may share one client."""

    def __init__(
        self, app: Any, *, raises: bool = True, client: tuple[str, int] = ("10.0.0.1", 4000)
    ) -> None:
        """`raises`: whether an exception that leaves the app leaves the client too."""
        self.inner = httpx.ASGITransport(app=app, raise_app_exceptions=raises, client=client)

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        request.read()
        return asyncio.run(self._answer(request))

    async def _answer(self, request: httpx.Request) -> httpx.Response:
        answer = await self.inner.handle_async_request(request)
        assert isinstance(answer.stream, httpx.AsyncByteStream)
        raw = b"".join([part async for part in answer.stream])
        return httpx.Response(answer.status_code, headers=answer.headers, stream=httpx.ByteStream(raw))


def browser(app: Any, *, raises: bool = True) -> httpx.Client:
    """A browser's requests, nobody signed in: what is sent says that it comes from a page of this service."""
    headers = {"Sec-Fetch-Site": "same-origin", "Accept": "text/html"}
    return httpx.Client(transport=InProcess(app, raises=raises), base_url=ADDRESS, headers=headers)
