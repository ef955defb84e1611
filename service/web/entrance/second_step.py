"""The second step of signing in: a code, or a passkey where the browser can."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance.second_step import (
    HalfDone,
    ask_passkey,
    finish_by_code,
    finish_by_passkey,
    half_done,
)
from service.domain.words.refusals import BadInput, NotSignedIn, SlowDown
from service.web.entrance.entrance import go_on, next_path
from service.web.forms.forms import Form, Typed
from service.web.serving import guards
from service.web.serving.errors import status_of
from service.web.serving.guards import TheDesk
from service.web.serving.render import render

router = APIRouter(include_in_schema=False)
NO_STORE = {"Cache-Control": "no-store"}


@dataclass(frozen=True, slots=True)
class SecondStepPage:
    """`templates/entrance/second_step.html`. `passkey`: one can be asked for. `next` and `kept`: as on the
    page to sign in."""

    name: str
    passkey: bool
    next: str
    kept: str
    code: str


@router.get("/sign-in/second-step")
def second_step(request: Request, desk: TheDesk, next: str = "/", kept: str = "") -> Response:
    try:
        half = half_done(desk, guards.page_token(request) or "")
    except NotSignedIn:
        return RedirectResponse("/sign-in", 303)
    return _page(half, next_path(next), kept)


@router.post("/sign-in/second-step")
def finish(request: Request, desk: TheDesk, form: Typed) -> Response:
    token, where = guards.page_token(request) or "", next_path(form.value("next"))
    address, device = guards.client_address(request), guards.device_of(request)
    try:
        half = half_done(desk, token)
    except NotSignedIn:
        return RedirectResponse("/sign-in", 303)
    try:
        if sent := form.value("passkey"):
            begun = finish_by_passkey(desk, token, sent, guards.place_of(request), address, device)
        else:
            begun = finish_by_code(desk, token, form.value("code"), address, device)
    except (BadInput, SlowDown) as refusal:
        form.refused(refusal)
        answer = _page(half, where, form.value("kept"), form, status_of(refusal))
        if isinstance(refusal, SlowDown):
            answer.headers["Retry-After"] = str(refusal.after_s)
        return answer
    return go_on(request, desk, begun, where, form.value("kept"))


@router.post("/sign-in/second-step/passkey")
def asked(request: Request, desk: TheDesk) -> Response:
    """What the browser signs. Asked for by the page's script."""
    try:
        told = ask_passkey(desk, guards.page_token(request) or "", guards.place_of(request))
    except NotSignedIn:
        return Response(status_code=401)
    return Response(told, media_type="application/json", headers=NO_STORE)


def _page(half: HalfDone, where: str, kept: str, form: Form | None = None, status: int = 200) -> Response:
    page = SecondStepPage(half.person.name, half.passkey, where, kept, form.value("code") if form else "")
    html = render("entrance/second_step.html", page, errors=form.errors if form else {})
    return HTMLResponse(html, status, headers=NO_STORE)
