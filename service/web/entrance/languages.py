"""Which language a page speaks, and how large: chosen and kept; else as the browser asks, else English."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.datastructures import Headers
from starlette.requests import Request, cookie_parser
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from service.actions.frame.languages import best_for, choose_language, speech_for, speeches
from service.domain.words.speech import Speech, speaking
from service.web.forms.forms import Form, Typed
from service.web.serving import type_size
from service.web.serving.errors import back_path, own_path
from service.web.serving.guards import TheDesk, Visitor, over_https
from service.web.serving.type_size import LARGER, USUAL

router = APIRouter(include_in_schema=False)

COOKIE = "laptight-language"
A_YEAR = 365 * 24 * 3600


class Languages:
    """Speaks the asker's language for the length of a request. The JSON contract is in English alone."""

    def __init__(self, app: ASGIApp, contract: str) -> None:
        self.app, self.contract = app, contract

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"].startswith(self.contract):
            await self.app(scope, receive, send)
            return
        with speaking(asked_for(Headers(scope=scope))):
            await self.app(scope, receive, send)


def asked_for(headers: Headers) -> Speech:
    """The language of a request."""
    chosen = cookie_parser(headers.get("cookie", "")).get(COOKIE, "")
    return speech_for(chosen) if chosen in speeches() else best_for(headers.get("accept-language", ""))


def keep_language(request: Request, answer: Response, code: str) -> None:
    """Put the language on an answer, for this phone."""
    _keep(request, answer, COOKIE, code)


@router.post("/language")
def language(request: Request, desk: TheDesk, person: Visitor, form: Typed) -> Response:
    """Speak this language from now on, here and on every phone this person signs in on."""
    speech = choose_language(desk, person.id if person else None, form.value("language"))
    answer = _back(request, form)
    keep_language(request, answer, speech.code)
    return answer


@router.post("/type-size")
def size_of_type(request: Request, form: Typed) -> Response:
    """Larger type on this phone, or the usual one again."""
    answer = _back(request, form)
    size = LARGER if form.value("size") == LARGER else USUAL
    _keep(request, answer, type_size.COOKIE, size)
    return answer


def _back(request: Request, form: Form) -> Response:
    return RedirectResponse(own_path(form.value("back")) or back_path(request) or "/", 303)


def _keep(request: Request, answer: Response, name: str, value: str) -> None:
    answer.set_cookie(
        name, value, max_age=A_YEAR, path="/", secure=over_https(request), httponly=True, samesite="lax"
    )
