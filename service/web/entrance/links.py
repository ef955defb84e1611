"""What a link opens: join by invitation, choose a password anew.

Looking at a link uses nothing up, because previews and scanners open links too: only the form's POST does.
"""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance import accounts, resets
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.people import people
from service.actions.people.people import JoinView
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.domain.words.speech import tr
from service.web.entrance.entrance import go_on
from service.web.forms.forms import Form, Typed
from service.web.serving import guards
from service.web.serving.guards import TheDesk, Visitor
from service.web.serving.render import render

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class JoinPage:
    """`way`: `anew` makes an account, `sign in` comes first, `join` is one press, `other`: not theirs."""

    project: str
    role: str
    email: str
    name: str
    action: str
    sign_in_href: str
    way: str


@dataclass(frozen=True, slots=True)
class ResetPage:
    """`email` is shown so that a password keeper files the new password under it."""

    email: str
    action: str


@dataclass(frozen=True, slots=True)
class GonePage:
    """A link that cannot be used: why that may be, and what to do."""

    title: str
    words: str
    href: str
    link: str


def _html(template: str, page: object, form: Form | None = None, person: Person | None = None) -> Response:
    errors = form.errors if form else {}
    html = render(
        template,
        page,
        errors=errors,
        person=person.name if person else "",
        person_id=person.id if person else "",
    )
    return HTMLResponse(html, 422 if errors else 200, headers={"Cache-Control": "no-store"})


# --- joining ---------------------------------------------------------------------------------------------


@router.get("/join/{token}")
def join_page(desk: TheDesk, person: Visitor, token: str) -> Response:
    try:
        view = people.invitation_shown(desk, token)
    except NotFound:
        return _no_invitation(person)
    return _html("entrance/join.html", _join_page(view, token, person), person=person)


@router.post("/join/{token}")
def join(request: Request, desk: TheDesk, person: Visitor, form: Typed, token: str) -> Response:
    try:
        view = people.invitation_shown(desk, token)
        if person is not None:
            return RedirectResponse(f"/projects/{people.join(desk, token, person)}", 303)
        joined, project_id = people.join_anew(desk, token, form.text("name"), form.value("password"))
    except NotFound:
        return _no_invitation(person)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        view = people.invitation_shown(desk, token)  # an account may have come about meanwhile
        page = _join_page(view, token, person, name=form.value("name"))
        return _html("entrance/join.html", page, form, person)
    return _signed_in(request, desk, joined, f"/projects/{project_id}")


def _join_page(view: JoinView, token: str, person: Person | None, name: str = "") -> JoinPage:
    invitation = view.invitation
    if person is not None:
        way = "join" if person.email == invitation.email else "other"
    else:
        way = "sign in" if view.has_account else "anew"
    return JoinPage(
        project=view.project_name,
        role=invitation.role,
        email=invitation.email,
        name=name,
        action=f"/join/{token}",
        sign_in_href=f"/sign-in?next=/join/{token}",
        way=way,
    )


def _no_invitation(person: Person | None) -> Response:
    page = GonePage(
        tr("This link lets nobody in"),
        tr(
            "It was used already, it is older than seven days, or a newer one was made. Ask the "
            "project manager for a new link."
        ),
        "/",
        tr("My projects") if person else tr("Sign in"),
    )
    return _gone(page)


def _gone(page: GonePage) -> Response:
    html = render("entrance/gone.html", page)
    return HTMLResponse(html, 404, headers={"Cache-Control": "no-store"})


def _signed_in(request: Request, desk: Desk, person: Person, where: str) -> Response:
    return go_on(request, desk, accounts.begun(desk, person.id, guards.device_of(request)), where)


# --- passwords -------------------------------------------------------------------------------------------


@router.get("/forgot")
def forgot() -> Response:
    return _html("entrance/forgot.html", None)


@router.get("/reset/{token}")
def reset_page(desk: TheDesk, token: str) -> Response:
    person = resets.reset_shown(desk, token)
    if person is None:
        return _no_reset()
    return _html("entrance/reset.html", ResetPage(person.email, f"/reset/{token}"))


@router.post("/reset/{token}")
def reset(request: Request, desk: TheDesk, form: Typed, token: str) -> Response:
    shown = resets.reset_shown(desk, token)
    if shown is None:
        return _no_reset()
    try:
        person = resets.use_reset(desk, token, form.value("password"))
    except NotFound:
        return _no_reset()
    except BadInput as refusal:
        form.refused(refusal)
        return _html("entrance/reset.html", ResetPage(shown.email, f"/reset/{token}"), form)
    return _signed_in(request, desk, person, "/")


def _no_reset() -> Response:
    page = GonePage(
        tr("This link cannot be used"),
        tr("It was used already, or it is older than 60 minutes. Ask for a new one."),
        "/forgot",
        tr("Who can make one"),
    )
    return _gone(page)
