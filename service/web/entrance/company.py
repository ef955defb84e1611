"""Signing in at a company's own provider: going there, and coming back."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.actions.entrance.company import LASTS, Company, finish, start
from service.domain.words.refusals import NotSignedIn, SlowDown
from service.web.entrance.entrance import go_on, next_path, refused_sign_in
from service.web.serving import guards
from service.web.serving.guards import TheDesk

router = APIRouter(include_in_schema=False)
BACK = "/sign-in/company/back"
PLAIN_COOKIE, HOST_COOKIE = "laptight-company", "__Host-laptight-company"


def _cookie_name(request: Request) -> str:
    return HOST_COOKIE if guards.over_https(request) else PLAIN_COOKIE


@router.get("/sign-in/company")
def go(request: Request, desk: TheDesk, next: str = "/") -> Response:
    """A link and no form: a browser keeps forms from leading to another site (form-action), as it should."""
    company: Company | None = request.app.state.company
    if company is None:
        return RedirectResponse("/sign-in", 303)
    try:
        begun = start(desk, company, guards.whole_address(request, BACK), next_path(next))
    except NotSignedIn as refusal:
        return refused_sign_in(request, refusal, where=next_path(next))
    answer = RedirectResponse(begun.address, 303, headers={"Cache-Control": "no-store"})
    answer.set_cookie(
        _cookie_name(request), begun.secret, max_age=int(LASTS.total_seconds()), path="/",
        secure=guards.over_https(request), httponly=True, samesite="lax",
    )  # fmt: skip
    return answer


@router.get(BACK)
def came_back(request: Request, desk: TheDesk) -> Response:
    company: Company | None = request.app.state.company
    if company is None:
        return RedirectResponse("/sign-in", 303)
    name = _cookie_name(request)
    try:
        begun, where = finish(
            desk,
            company,
            guards.whole_address(request, BACK),
            request.cookies.get(name, ""),
            request.query_params,
            guards.device_of(request),
        )
        answer = go_on(request, desk, begun, next_path(where))
    except (NotSignedIn, SlowDown) as refusal:
        answer = refused_sign_in(request, refusal)
    answer.delete_cookie(name, path="/", secure=guards.over_https(request), httponly=True, samesite="lax")
    answer.headers["Cache-Control"] = "no-store"
    return answer
