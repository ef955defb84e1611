"""The way in: sign in and out, and my projects."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Begun
from service.actions.frame.desk import Desk
from service.actions.frame.languages import choose_language, speeches
from service.actions.office.projects import my_projects
from service.domain.words.refusals import NotSignedIn, Refusal, SlowDown
from service.web.entrance import kept as keeping
from service.web.entrance import languages
from service.web.forms.forms import Typed
from service.web.serving import guards
from service.web.serving.errors import own_path
from service.web.serving.guards import Signed, TheDesk, Visitor
from service.web.serving.render import render

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class SignInPage:
    """`first`: nobody has an account here yet. `next`: where to go once signed in. `kept`: what was typed
    into a form sent too late, packed; it comes along only where no scripts run. `company`: whose provider
    one can sign in at instead."""

    email: str
    next: str
    first: bool
    kept: str = ""
    company: str = ""
    company_href: str = ""


@dataclass(frozen=True, slots=True)
class SendAgainPage:
    """A form that was sent after the sign-in had ended: its fields, and those of them worth showing."""

    action: str
    fields: keeping.Fields
    shown: keeping.Fields
    back: str


@dataclass(frozen=True, slots=True)
class ProjectLine:
    name: str
    role: str
    href: str


@dataclass(frozen=True, slots=True)
class HomePage:
    projects: tuple[ProjectLine, ...]


def _html(template: str, page: object, status: int = 200, **shell: object) -> Response:
    return HTMLResponse(render(template, page, **shell), status)  # type: ignore[arg-type]


@router.get("/")
def home(desk: TheDesk, person: Signed) -> Response:
    lines = tuple(
        ProjectLine(seen.project.name, seen.role, f"/projects/{seen.project.id}")
        for seen in my_projects(desk, person.id)
    )
    return _html("entrance/home.html", HomePage(lines), person=person.name, person_id=person.id)


# --- signing in and out ----------------------------------------------------------------------------------


def next_path(text: str) -> str:
    return own_path(text) or "/"


@router.get("/sign-in")
def sign_in_page(
    request: Request, desk: TheDesk, person: Visitor, next: str = "/", kept: str = ""
) -> Response:
    if person is not None:
        return RedirectResponse(next_path(next), 303)
    page = _sign_in_page(request, "", next_path(next), kept, first=accounts.nobody_yet(desk))
    return _html("entrance/sign_in.html", page)


def _sign_in_page(request: Request, email: str, where: str, kept: str, first: bool) -> SignInPage:
    company = request.app.state.company
    href = f"/sign-in/company?{urlencode({'next': where})}" if company else ""
    return SignInPage(email, where, first, kept, company.name if company else "", href)


@router.post("/sign-in")
def sign_in(request: Request, desk: TheDesk, form: Typed) -> Response:
    where = next_path(form.value("next"))
    address, device = guards.client_address(request), guards.device_of(request)
    try:
        begun = accounts.begin(desk, form.value("email"), form.value("password"), address, device)
    except (NotSignedIn, SlowDown) as refusal:
        return refused_sign_in(request, refusal, form.value("email"), where, form.value("kept"))
    return go_on(request, desk, begun, where, form.value("kept"))


def refused_sign_in(
    request: Request, refusal: Refusal, email: str = "", where: str = "/", kept: str = ""
) -> Response:
    """The page to sign in, with why it was refused."""
    page = _sign_in_page(request, email, where, kept, first=False)
    status = 429 if isinstance(refusal, SlowDown) else 422
    answer = _html("entrance/sign_in.html", page, status, errors={"email": refusal.message})
    if isinstance(refusal, SlowDown):
        answer.headers["Retry-After"] = str(refusal.after_s)
    return answer


def go_on(request: Request, desk: Desk, begun: Begun, where: str, packed: str = "") -> Response:
    """From a password, or whatever stood for it, to where they were going: at once or by the next step."""
    guards.end_old(request, desk)
    if begun.kind == accounts.PAGE:
        kept = keeping.unpack(packed, request.cookies.get(keeping.cookie_name(request)))
        answer = _send_again(kept, where) if kept else RedirectResponse(where, 303)
        _speak_as_before(request, desk, begun.token, answer)
    elif begun.kind == accounts.HALF:
        answer = RedirectResponse(f"/sign-in/second-step?{urlencode({'next': where, 'kept': packed})}", 303)
    else:
        answer = RedirectResponse("/account/second-factor", 303)
    guards.keep_sign_in(request, answer, begun.token, begun.ends_at)
    return answer


def _speak_as_before(request: Request, desk: Desk, token: str, answer: Response) -> None:
    """The language chosen on another phone; or the one chosen here, before signing in, for all of them."""
    person = accounts.person_for(desk, token)
    chosen = request.cookies.get(languages.COOKIE, "")
    if person is not None and person.language:
        languages.keep_language(request, answer, person.language)
    elif person is not None and chosen in speeches():
        choose_language(desk, person.id, chosen)


def _send_again(kept: keeping.Kept, back: str) -> Response:
    shown = keeping.worth_showing(kept.fields)
    return _html("entrance/send_again.html", SendAgainPage(kept.path, kept.fields, shown, back))


@router.post("/sign-out")
def sign_out(request: Request, desk: TheDesk) -> Response:
    token = guards.page_token(request)
    if token:
        accounts.sign_out(desk, token)
    answer = RedirectResponse("/sign-in", 303)
    guards.drop_sign_in(request, answer)
    return answer
