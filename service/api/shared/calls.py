"""The frame of every call: who is calling, a body read strictly, an effect that lands once for its key."""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

from fastapi import Depends, Header, Path
from fastapi.routing import APIRoute
from fastapi.security import APIKeyCookie, HTTPBearer
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.once import nothing, once_prepared
from service.domain.words.refusals import BadInput, NotSignedIn

T = TypeVar("T")

# The cookies of the pages: a page's script calls with the sign-in of its page.
PLAIN_COOKIE, HOST_COOKIE = "laptight", "__Host-laptight"
SIGNED_IN = [
    Depends(HTTPBearer(auto_error=False, description="The token of `POST /api/v1/sign-in`.")),
    Depends(APIKeyCookie(name=PLAIN_COOKIE, auto_error=False, description="The sign-in of a page here.")),
]

Id = Annotated[str, Path(max_length=200, pattern="^[!-~]+$", description="An id: opaque text.")]


def desk_of(request: Request) -> Desk:
    """A desk of this request's own."""
    base: Desk = request.app.state.desk
    return base.fresh()


def caller(request: Request) -> Person:
    """Who is calling: by bearer token where one is given, else by the cookie of a page. NotSignedIn,
    SlowDown."""
    desk, (token, kind) = desk_of(request), _shown(request)
    person = accounts.person_for(desk, token, kind) if token else None
    if person is None or person.only:  # a crew's code is for pages: programs have passwords
        raise NotSignedIn("Sign in first: POST /api/v1/sign-in gives a token for Authorization: Bearer.")
    request.app.state.counted.person(desk, person.id)
    return person


def caller_at_once(request: Request) -> Person | None:
    """The same where that takes no waiting and no writing, as nearly always on SQLite; else None, and
    `caller` is to be asked, in a thread."""
    desk: Desk = request.app.state.desk
    token, kind = _shown(request)
    person = accounts.person_at_once(desk, token, kind) if token else None
    if person is None or not request.app.state.counted.lightly(desk, person.id):
        return None
    return person


def _shown(request: Request) -> tuple[str, str]:
    """The token that a request shows, or nothing, and how it is carried."""
    given = request.headers.get("authorization")
    if given is None:
        return request.cookies.get(cookie_name(request), ""), accounts.PAGE
    scheme, _, token = given.partition(" ")
    return (token.strip() if scheme.lower() == "bearer" else ""), accounts.PROGRAM


def count_address(request: Request) -> None:
    """One more call by a link, which needs no sign-in: counted by where it comes from. SlowDown."""
    address = request.client.host if request.client else "unknown"
    request.app.state.counted.address(desk_of(request), address)


BY_LINK = [Depends(count_address)]


def cookie_name(request: Request) -> str:
    """The `__Host-` name wherever the pages use it."""
    https = request.app.state.settings.secure_cookies or request.url.scheme == "https"
    return HOST_COOKIE if https else PLAIN_COOKIE


# --- reading what was sent -------------------------------------------------------------------------------


def read_json(raw: bytes) -> Any:
    """JSON with nothing loose about it. JSONDecodeError for NaN, a name given twice, text that is no text."""

    def fail(words: str) -> Any:
        raise json.JSONDecodeError(words, "", 0)

    def named_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        return found if len(found) == len(pairs) else fail("a name is given twice")

    try:
        text = raw.decode("utf-8")
        read = json.loads(
            text, parse_constant=lambda name: fail(f"{name} is no number"), object_pairs_hook=named_once
        )
    except json.JSONDecodeError:
        raise
    except UnicodeDecodeError:
        fail("it is not UTF-8")
    except RecursionError:
        fail("it is nested too deep")
    except ValueError:  # an int of thousands of digits
        fail("a number is too long")
    if "\\u" in text or "\x00" in text:
        _check_texts(read, fail)
    return read


def _check_texts(read: Any, fail: Callable[[str], Any]) -> None:
    """Every text can be kept: no NUL, which one of the databases refuses, and no half of a character."""
    left = [read]
    while left:
        value = left.pop()
        if isinstance(value, dict):
            left += [*value.keys(), *value.values()]
        elif isinstance(value, list):
            left += value
        elif isinstance(value, str) and any(sign == "\x00" or "\ud800" <= sign <= "\udfff" for sign in value):
            fail("it holds a character that cannot be kept")


class JsonRequest(Request):
    """A request whose JSON is read by `read_json`."""

    async def json(self) -> Any:
        if not hasattr(self, "_json"):
            self._json = read_json(await self.body())
        return self._json


Handle = Callable[[Request], Coroutine[Any, Any, Response]]


class OpenRoute(APIRoute):
    """A route anybody may call: strict JSON, and 422 for a body that cannot be read at all."""

    def get_route_handler(self) -> Handle:
        answer = super().get_route_handler()

        async def handle(request: Request) -> Response:
            asked = JsonRequest(request.scope, request.receive)
            await self.let_in(asked)
            try:
                return await answer(asked)
            except HTTPException as unread:
                if unread.status_code != 400:
                    raise
                raise BadInput("What was sent cannot be read.") from None

        return handle

    async def let_in(self, request: Request) -> None:
        """Whether this caller may come in at all."""


class SignedRoute(OpenRoute):
    """A route for people signed in: who is calling is asked before anything that was sent is read."""

    async def let_in(self, request: Request) -> None:
        person = caller_at_once(request)
        request.state.person = person or await run_in_threadpool(caller, request)


# --- answering -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Call:
    """`sent`: what makes two requests the same one. `key`: the Idempotency-Key, if one was given."""

    desk: Desk
    person: Person
    sent: bytes = b""
    key: str | None = None

    @property
    def by(self) -> str:
        return self.person.id

    def once(self, status: int, act: Callable[[], BaseModel]) -> Response:
        """What `act` does and tells, in one transaction; for a key seen before, the first time's reply."""
        return self.once_prepared(status, nothing, lambda _: act())

    def once_prepared(
        self, status: int, prepare: Callable[[], T], act: Callable[[T], BaseModel], more: bytes = b""
    ) -> Response:
        """As `once`, with a slow part that runs before the transaction. `more`: what else was sent."""
        if self.key is None:
            made = prepare()
            with self.desk.writing():
                reply = act(made).model_dump_json()
            return json_answer(status, reply)
        status, reply, _ = once_prepared(
            self.desk,
            self.by,
            self.key,
            self.sent + more,
            prepare,
            lambda made: (status, act(made).model_dump_json()),
        )
        return json_answer(status, reply)


def json_answer(status: int, text: str) -> Response:
    return Response(text, status, media_type="application/json")


async def reading(request: Request) -> Call:
    return Call(desk_of(request), request.state.person)


async def writing(
    request: Request,
    idempotency_key: Annotated[
        str | None,
        Header(
            alias="Idempotency-Key",
            description="1 to 200 characters. The same key and body again: the stored reply and no second "
            "effect. The same key with another body: 422. Still under way: 409. Kept for 90 days.",
        ),
    ] = None,
) -> Call:
    sent = f"{request.method} {request.url.path}?{request.url.query}\n".encode()
    if (
        "json" in request.headers.get("content-type", "").lower()
    ):  # a form has been read from the stream by now
        sent += await request.body()
    return Call(desk_of(request), request.state.person, sent, idempotency_key)


Reads = Annotated[Call, Depends(reading)]
Writes = Annotated[Call, Depends(writing)]
