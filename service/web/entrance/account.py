"""My account: who I am here, where I am signed in, ending that, and another password."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.people.sign_ins import OpenSignIn, end_one, end_others, my_sign_ins, time_zone_of
from service.domain.words.refusals import BadInput, SlowDown
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form, Typed
from service.web.serving import guards
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render

router = APIRouter(include_in_schema=False)

SAID = {
    "changed": later("The password was changed. Everywhere else you are signed out."),
    "ended": later("That sign-in is ended."),
    "all-ended": later("Everywhere else you are signed out."),
}


@dataclass(frozen=True, slots=True)
class SignInLine:
    """One open sign-in. `action` ends it; empty for the one that looks."""

    what: str
    words: str
    action: str


@dataclass(frozen=True, slots=True)
class AccountPage:
    """`templates/entrance/account.html`. `others`: somebody may be signed in elsewhere, too."""

    name: str
    email: str
    sign_ins: tuple[SignInLine, ...]
    others: bool


@router.get("/account")
def account_page(request: Request, desk: TheDesk, person: Signed, said: str = "") -> Response:
    return _account(request, desk, person, said=tr(SAID[said]) if said in SAID else "")


@router.post("/account")
def change_password(request: Request, desk: TheDesk, person: Signed, form: Typed) -> Response:
    accounts.not_by_code(desk)
    try:
        accounts.change_password(
            desk,
            person.id,
            form.value("old_password"),
            form.value("password"),
            address=guards.client_address(request),
            keep_token=guards.page_token(request),
        )
    except (BadInput, SlowDown) as refusal:
        form.refused(refusal)
        return _account(request, desk, person, form)
    return RedirectResponse("/account?said=changed", 303)


@router.post("/account/sign-ins/end")
def end_the_others(request: Request, desk: TheDesk, person: Signed) -> Response:
    end_others(desk, person.id, guards.page_token(request) or "")
    return RedirectResponse("/account?said=all-ended", 303)


@router.post("/account/sign-ins/{sign_in_id}/end")
def end_that_one(desk: TheDesk, person: Signed, sign_in_id: str) -> Response:
    end_one(desk, person.id, sign_in_id)
    return RedirectResponse("/account?said=ended", 303)


def _account(
    request: Request, desk: Desk, person: Person, form: Form | None = None, said: str = ""
) -> Response:
    open_ones = my_sign_ins(desk, person.id, guards.page_token(request) or "")
    zone = time_zone_of(desk, person.id)
    lines = tuple(_line(one, zone) for one in open_ones)
    page = AccountPage(person.name, person.email, lines, others=len(lines) > 1)
    errors = form.errors if form else {}
    html = render(
        "entrance/account.html", page, errors=errors, person=person.name, person_id=person.id, said=said
    )
    return HTMLResponse(html, 422 if errors else 200, headers={"Cache-Control": "no-store"})


def _line(one: OpenSignIn, zone: str) -> SignInLine:
    words = tr(
        "since {since}, last used {last}", since=moment(one.made_at, zone), last=moment(one.last_at, zone)
    )
    return SignInLine(
        what=tr("Here, on this page") if one.here else _device(one),
        words=words,
        action="" if one.here else f"/account/sign-ins/{one.id}/end",
    )


def _device(one: OpenSignIn) -> str:
    if one.kind == "api":
        return tr("A program")
    if one.kind == "code":
        return tr("By a crew's code")
    return {"phone": tr("A phone"), "computer": tr("A computer")}.get(one.device, tr("A browser"))
