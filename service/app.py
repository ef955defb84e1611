"""The wiring: builds the app from its settings. The one place that knows every layer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from service.actions.desk import Desk, random_id, utc_now
from service.domain.refusals import Refusal
from service.settings import Settings
from service.storage.blobs import Blobs
from service.storage.database import Database
from service.storage.migrate import migrate
from service.storage.outages import is_outage
from service.web import entrance, errors, guards, links, middleware
from service.web.render import STATIC

PAGES = (
    "service.web.sketches",
    "service.web.zones",
    "service.web.crew",
    "service.web.office",
    "service.web.inspector",
)
API_PREFIX = "/api/"


def make_desk(
    settings: Settings,
    *,
    clock: Callable[[], datetime] | None = None,
    new_id: Callable[[], str] | None = None,
) -> Desk:
    """The database brought up to date, and the blobs beside it."""
    settings.data.mkdir(parents=True, exist_ok=True)
    database = Database(settings.database_url)
    migrate(database)
    return Desk(database, Blobs(settings.data), clock or utc_now, new_id or random_id)


def make_app(
    settings: Settings,
    *,
    clock: Callable[[], datetime] | None = None,
    new_id: Callable[[], str] | None = None,
) -> FastAPI:
    """The whole service, ready to be served. Nothing is kept outside the app: two can live side by side."""
    app = FastAPI(title="Laptight", docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False)
    app.state.settings = settings
    app.state.desk = make_desk(settings, clock=clock, new_id=new_id)
    app.include_router(entrance.router)
    app.include_router(links.router)
    for name in PAGES:
        if find_spec(name) is not None:
            app.include_router(import_module(name).router)
    if find_spec("service.api.v1") is not None:
        app.include_router(import_module("service.api.v1").router)
    app.mount("/static", STATIC)
    app.add_exception_handler(Refusal, _refused)
    app.add_exception_handler(HTTPException, _not_routed)
    app.add_exception_handler(RequestValidationError, _unreadable)
    _stand_round(app, settings)
    return app


def _stand_round(app: FastAPI, settings: Settings) -> None:
    """The last added stands outermost."""
    cookies = (guards.PLAIN_COOKIE, guards.HOST_COOKIE)
    app.add_middleware(middleware.LastResort, answer=trouble, is_outage=is_outage)
    app.add_middleware(middleware.BodyLimit, answer=trouble)
    app.add_middleware(middleware.SameOrigin, answer=trouble, base_url=settings.base_url, cookies=cookies)
    app.add_middleware(GZipMiddleware, minimum_size=500, compresslevel=6)
    app.add_middleware(middleware.SafeHeaders, https=settings.secure_cookies)
    app.add_middleware(middleware.RequestNumber)


def for_programs(request: Request) -> bool:
    return request.url.path.startswith(API_PREFIX)


def trouble(request: Request, status: int) -> Response:
    """What is answered when no refusal stands behind the trouble: a page, or JSON in the contract's shape."""
    if not for_programs(request):
        return errors.trouble_page(request, status)
    words = errors.WORDS.get(status, "That did not work.")
    code = {403: "cross-site", 404: "not-found", 405: "method", 413: "too-large", 503: "busy"}.get(
        status, "broken" if status >= 500 else "bad-request"
    )
    return JSONResponse({"error": {"code": code, "message": words, "fields": {}}}, status)


def _refused(request: Request, refusal: Exception) -> Response:
    assert isinstance(refusal, Refusal)
    if not for_programs(request):
        return errors.refusal_page(request, refusal)
    if find_spec("service.api.errors") is not None:
        answer: Response = import_module("service.api.errors").refused(request, refusal)
        return answer
    body: dict[str, Any] = {"code": refusal.code, "message": refusal.message, "fields": refusal.fields}
    return JSONResponse({"error": body}, errors.status_of(refusal))


def _not_routed(request: Request, missing: Exception) -> Response:
    assert isinstance(missing, HTTPException)
    return trouble(request, missing.status_code)


def _unreadable(request: Request, bad: Exception) -> Response:
    """A parameter of the wrong kind. In a page's address it names nothing that is here."""
    assert isinstance(bad, RequestValidationError)
    if not for_programs(request):
        return errors.trouble_page(request, 404)
    if find_spec("service.api.errors") is not None:
        answer: Response = import_module("service.api.errors").unreadable(request, bad)
        return answer
    return trouble(request, 422)
