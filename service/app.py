"""The wiring: builds the app from its settings. The one place that knows every layer."""

from __future__ import annotations

import asyncio
import logging
import os
import threading
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.telemetry import TelemetryConfig
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.company import Company
from service.actions.entrance.counting import Counted
from service.actions.evidence import signing
from service.actions.frame.desk import Authority, Desk, random_id, utc_now
from service.actions.telling.sending_told import Outside, tick
from service.api import v1
from service.api.shared import errors as api_errors
from service.domain.words.refusals import NotFound, NotSignedIn, Refusal
from service.finding import pass_by
from service.history.proofs.timestamps import read_chain
from service.settings import Settings, calm_collector
from service.storage.blobs.blobs import Blobs
from service.storage.blobs.store import Store
from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from service.storage.doors.push_keys import push_key
from service.storage.upkeep.migrate import migrate
from service.storage.upkeep.outages import is_outage
from service.web.crew import crew, phone
from service.web.entrance import (
    account,
    code_sheets,
    company,
    crew_codes,
    entrance,
    kept,
    languages,
    links,
    ready,
    second_factor,
    second_step,
    told,
)
from service.web.forms import uploads
from service.web.inspector import inspector
from service.web.office import office
from service.web.serving import (
    bodies,
    errors,
    guards,
    health,
    metrics,
    middleware,
    receipts,
    type_size,
    unchanged,
    watching,
)
from service.web.serving.render import STATIC
from service.web.sketches import sketches, zones

if TYPE_CHECKING:
    from service.web.serving.traces import Traces

logger = logging.getLogger("laptight")

ROUTES = (
    health, entrance, second_step, account, second_factor, company, languages, links, crew_codes, code_sheets,
    phone, ready, sketches, uploads, zones, crew, office, told, inspector, v1,
)  # fmt: skip
API_PREFIX = "/api/"
# FastAPI's own would start by an environment variable and tell of paths, which hold ids and secrets of links.
NO_TELEMETRY = TelemetryConfig(auto_configure=False, tracing=False, metrics=False, logs=False)
TELLING_EVERY_S = 5


def make_desk(
    settings: Settings,
    *,
    clock: Callable[[], datetime] | None = None,
    new_id: Callable[[], str] | None = None,
    serving: bool = True,
) -> Desk:
    """The database brought up to date, and the blobs beside it.

    `serving`: whether its histories may be told of another signing key. A command that only looks, or was
    started with another folder of keys, tells them nothing.
    """
    settings.data.mkdir(parents=True, exist_ok=True)
    database = Database(settings.database_url, Keyring(settings.keys))
    migrate(database)
    blobs = blobs_at(settings.data, settings.blobs_url)
    desk = Desk(
        database, blobs, clock or utc_now, new_id or random_id, _authority(settings),
        asks_factor=settings.asks_factor,
    )  # fmt: skip
    if serving and (told := signing.agree(desk)):
        logger.warning("%d histories are signed with another key from now on, and say so", told)
    return desk


def blobs_at(data: Path, where: str) -> Blobs:
    """Pictures in an object store with a copy in `data`, in another directory, or, where nothing is named, in
    `data` alone."""
    if where.startswith("s3:"):
        return Blobs(data, Store(where))
    return Blobs(Path(where) if where else data)


def _authority(settings: Settings) -> Authority | None:
    """Who gives timestamps. ValueError when it is named without the certificates to check its word by."""
    if not settings.timestamp_url:
        return None
    if settings.timestamp_chain is None:
        raise ValueError("LAPTIGHT_TIMESTAMP_URL is set, and LAPTIGHT_TIMESTAMP_CHAIN names no file")
    chain = settings.timestamp_chain.read_bytes()
    read_chain(chain)
    return Authority(settings.timestamp_url, chain)


def make_app(
    settings: Settings,
    *,
    clock: Callable[[], datetime] | None = None,
    new_id: Callable[[], str] | None = None,
) -> FastAPI:
    """The whole service, ready to be served. Nothing is kept outside the app: two can live side by side."""
    app = FastAPI(
        title="Laptight", docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False,
        lifespan=_telling, telemetry=NO_TELEMETRY,
    )  # fmt: skip
    app.state.settings = settings
    app.state.outside = outside_of(settings)
    app.state.company = company_of(settings)
    app.state.counted = Counted(settings.most_requests)
    app.state.desk = make_desk(settings, clock=clock, new_id=new_id)
    app.mount("/static", STATIC)  # first: a page has several, and each would pass all the routes
    for part in ROUTES:
        app.include_router(part.router)
    pass_by(app.routes)
    app.add_exception_handler(Refusal, _refused)
    app.add_exception_handler(HTTPException, _not_routed)
    app.add_exception_handler(RequestValidationError, _unreadable)
    _stand_round(app, settings)
    return app


def from_environment() -> FastAPI:
    """The app of one worker among several: LAPTIGHT_DATA names what the command line named."""
    calm_collector()  # a worker begins as a fresh Python: the command line's own call did not reach it
    settings = Settings.read(Path(os.environ["LAPTIGHT_DATA"]))
    if settings.log_json:
        watching.log_as_json()
    return make_app(settings)


def be_watched(settings: Settings) -> None:
    """Before anything is served: counts at their own address, lines of JSON in the log, where asked for."""
    if settings.metrics:
        metrics.open_at(settings.metrics)
    if settings.log_json:
        watching.log_as_json()


def company_of(settings: Settings) -> Company | None:
    """Whose provider people may sign in at, where one is set. ValueError for one that is half set, or that is
    spoken to in the clear: whoever listens could sign in as anybody."""
    if not settings.oidc_issuer:
        return None
    if not settings.oidc_client_id or not settings.oidc_client_secret:
        raise ValueError("LAPTIGHT_OIDC_ISSUER is set, and its CLIENT_ID or CLIENT_SECRET is not")
    if not settings.oidc_issuer.startswith(("https://", "http://127.0.0.1:", "http://localhost:")):
        raise ValueError("LAPTIGHT_OIDC_ISSUER must begin with https://")
    name = settings.oidc_name or urlsplit(settings.oidc_issuer).hostname or ""
    return Company(
        settings.oidc_issuer, settings.oidc_client_id, settings.oidc_client_secret, name, settings.oidc_acr
    )


def outside_of(settings: Settings) -> Outside:
    """What the service reaches people by, as it was started."""
    return Outside(
        smtp_url=settings.smtp_url,
        mail_from=settings.mail_from,
        address=settings.base_url,
        push_key=lambda: push_key(settings.keys),
    )


@asynccontextmanager
async def _telling(app: FastAPI) -> AsyncIterator[None]:
    """While the service runs, what turned is told: looked for every few seconds, in a thread of its own."""
    settings: Settings = app.state.settings
    if app.state.outside.push_key is not None:
        await asyncio.to_thread(app.state.outside.push_key)  # made at the first start
    stop, woken = threading.Event(), asyncio.Event()
    task = asyncio.create_task(_keep_telling(app, stop, woken))
    yield
    stop.set()
    woken.set()
    await task
    if settings.traces:
        await asyncio.to_thread(app.state.traces.end)


def rest_after(took: float) -> float:
    """Seconds until turns are looked for again. Looking judges every zone of every project that moved:
    however many move at once, as at a shift's end, it takes a tenth of the time, and people have the rest."""
    return max(TELLING_EVERY_S, 9 * took)


async def _keep_telling(app: FastAPI, stop: threading.Event, woken: asyncio.Event) -> None:
    took = 0.0
    while True:
        try:
            await asyncio.wait_for(woken.wait(), rest_after(took))
            return
        except TimeoutError:
            pass
        began = time.monotonic()
        try:
            desk: Desk = app.state.desk.fresh()
            await asyncio.to_thread(tick, desk, app.state.outside, lambda: not stop.is_set())
        except Exception:  # whatever it is, the service goes on and tries again
            logger.exception("nothing was told this time")
        took = time.monotonic() - began


def _stand_round(app: FastAPI, settings: Settings) -> None:
    """The last added stands outermost."""
    app.add_middleware(receipts.Receipts)
    cookies = (guards.PLAIN_COOKIE, guards.HOST_COOKIE)
    app.add_middleware(middleware.LastResort, answer=trouble, is_outage=is_outage)
    app.add_middleware(bodies.BodyLimit, answer=trouble)
    app.add_middleware(middleware.PlainLetters, answer=trouble)
    app.add_middleware(middleware.SameOrigin, answer=trouble, base_url=settings.base_url, cookies=cookies)
    app.add_middleware(GZipMiddleware, minimum_size=500, compresslevel=6)
    app.add_middleware(middleware.SafeHeaders, https=settings.secure_cookies)
    app.add_middleware(type_size.TypeSize)
    app.add_middleware(languages.Languages, contract=API_PREFIX)
    app.state.shelf = unchanged.Shelf()
    app.add_middleware(unchanged.Unchanged, shelf=app.state.shelf)
    tell: list[watching.Tell] = [watching.log] if settings.log_json else []
    if settings.metrics:
        tell.append(metrics.counter())
    if settings.traces:
        app.state.traces = _traced(app, settings.traces)
        app.add_middleware(watching.Watched, tell=tell, follow=app.state.traces.follow)
    elif tell:
        app.add_middleware(watching.Watched, tell=tell)
    app.add_middleware(middleware.RequestNumber)


def _traced(app: FastAPI, address: str) -> Traces:
    """Spans of its requests and transactions. What sends them is an extra, loaded where it is asked for."""
    from service.web.serving.traces import Traces

    traces, database = Traces(address), app.state.desk.database
    database.followed = traces.at_the_database("sqlite" if database.is_sqlite else "postgresql")
    return traces


def for_programs(request: Request) -> bool:
    return request.url.path.startswith(API_PREFIX)


def trouble(request: Request, status: int) -> Response:
    """What is answered when no refusal stands behind the trouble: a page, or JSON in the contract's shape."""
    if not for_programs(request):
        as_page = not receipts.wanted(request)
        return errors.trouble_page(request, status) if as_page else receipts.trouble(status)
    code = receipts.CODES.get(status, "broken" if status >= 500 else "bad-request")
    return api_errors.error(status, code, errors.WORDS.get(status, "That did not work."))


async def _refused(request: Request, refusal: Exception) -> Response:
    assert isinstance(refusal, Refusal)
    if receipts.wanted(request):
        return receipts.refused(request, refusal)
    if not for_programs(request):
        if isinstance(refusal, NotSignedIn) and request.method == "POST":
            return await kept.to_sign_in(request)
        return errors.refusal_page(request, refusal, await _typed(request, refusal))
    return api_errors.refused(request, refusal)


async def _typed(request: Request, refusal: Refusal) -> tuple[tuple[str, str], ...]:
    """What the form held, to be shown beside the refusal. What is not yours to see is answered without."""
    if request.method != "POST" or isinstance(refusal, NotFound):
        return ()
    return kept.worth_showing(await kept.typed_in(request))


def _not_routed(request: Request, missing: Exception) -> Response:
    assert isinstance(missing, HTTPException)
    answer = trouble(request, missing.status_code)
    answer.headers.update(missing.headers or {})  # Allow, beside a 405
    return answer


def _unreadable(request: Request, bad: Exception) -> Response:
    """A parameter of the wrong kind. In a page's address it names nothing that is here."""
    assert isinstance(bad, RequestValidationError)
    if not for_programs(request):
        return errors.trouble_page(request, 404)
    return api_errors.unreadable(request, bad)
