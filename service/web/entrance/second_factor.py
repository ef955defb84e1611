"""My second factor: what is set up, setting up codes or a passkey, recovery codes, taking one away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance import factor_setup
from service.actions.entrance.accounts import Person
from service.actions.entrance.factor_setup import NewCodes, Proven
from service.actions.frame.desk import Desk
from service.actions.people.sign_ins import time_zone_of
from service.domain.words.refusals import BadInput, Conflict, NotFound, NotSignedIn, Refusal, SlowDown
from service.domain.words.speech import later, tr, trn
from service.web.forms.forms import Form, Typed
from service.web.serving import guards
from service.web.serving.errors import status_of
from service.web.serving.guards import TheDesk
from service.web.serving.render import day, render

router = APIRouter(include_in_schema=False)
HERE = "/account/second-factor"
NO_STORE = {"Cache-Control": "no-store"}
SAID = {
    "removed": later("Taken away. Everywhere else you are signed out."),
}


def setting_up(request: Request, desk: TheDesk) -> Person:
    """The person signed in, or half way in to set up a second factor first. NotSignedIn."""
    person = factor_setup.setter_up(desk, guards.page_token(request) or "")
    if person is None:
        raise NotSignedIn(tr("Sign in first."))
    return person


SettingUp = Annotated[Person, Depends(setting_up)]


@dataclass(frozen=True, slots=True)
class FactorLine:
    """One that is set up. `action` takes it away, with the password sent as `remove_password-ID`."""

    id: str
    what: str
    words: str
    action: str


@dataclass(frozen=True, slots=True)
class SecondFactorPage:
    """`templates/entrance/second_factor.html`. `first`: nothing else can be done before one is set up;
    `by_password`: each change asks for the password."""

    first: bool
    factors: tuple[FactorLine, ...]
    recovery: str
    email: str
    by_password: bool


@dataclass(frozen=True, slots=True)
class CodesPage:
    """`templates/entrance/second_factor_codes.html`. `drawn`: the QR code's path and side."""

    secret: str
    drawn: tuple[str, int]
    name: str


@dataclass(frozen=True, slots=True)
class RecoveryPage:
    """`templates/entrance/recovery_codes.html`: shown this once. `on`: where it goes on."""

    codes: tuple[str, ...]
    on: str


@router.get(HERE)
def second_factor(request: Request, desk: TheDesk, person: SettingUp, did: str = "") -> Response:
    return _page(request, desk, person, said=tr(SAID[did]) if did in SAID else "")


@router.post(HERE + "/codes")
def start_codes(request: Request, desk: TheDesk, person: SettingUp, form: Typed) -> Response:
    try:
        new = factor_setup.start_codes(
            desk,
            person,
            form.value("codes_password"),
            guards.client_address(request),
            guards.page_token(request) or "",
        )
    except (BadInput, SlowDown) as refusal:
        return _refused(request, desk, person, form, refusal, "codes_password")
    return _codes(person, new, "")


@router.post(HERE + "/codes/confirm")
def confirm_codes(request: Request, desk: TheDesk, person: SettingUp, form: Typed) -> Response:
    name = form.text("name", most=factor_setup.LONGEST_NAME)
    try:
        if form.errors:
            return _codes(person, factor_setup.codes_under_way(desk, person), name, form)
        proven = factor_setup.prove_codes(
            desk,
            person,
            form.value("code"),
            name,
            token=guards.page_token(request) or "",
            address=guards.client_address(request),
            device=guards.device_of(request),
        )
    except NotFound:
        return RedirectResponse(HERE, 303)
    except (BadInput, SlowDown) as refusal:
        form.refused(refusal)
        return _codes(person, factor_setup.codes_under_way(desk, person), name, form, status_of(refusal))
    return _proven(request, person, proven)


@router.post(HERE + "/passkey/options")
def start_passkey(request: Request, desk: TheDesk, person: SettingUp, form: Typed) -> Response:
    """What the browser makes a passkey from. Asked for by a script: why not is told as plain text."""
    try:
        told = factor_setup.start_passkey(
            desk,
            person,
            form.value("passkey_password"),
            guards.place_of(request),
            guards.client_address(request),
            guards.page_token(request) or "",
        )
    except (BadInput, SlowDown) as refusal:
        words = next(iter(refusal.fields.values()), refusal.message)
        return Response(words, status_of(refusal), media_type="text/plain", headers=NO_STORE)
    return Response(told, media_type="application/json", headers=NO_STORE)


@router.post(HERE + "/passkey")
def add_passkey(request: Request, desk: TheDesk, person: SettingUp, form: Typed) -> Response:
    try:
        proven = factor_setup.add_passkey(
            desk,
            person,
            form.value("passkey"),
            form.value("passkey_name"),
            guards.place_of(request),
            token=guards.page_token(request) or "",
            device=guards.device_of(request),
        )
    except BadInput as refusal:
        return _refused(request, desk, person, form, refusal, "")
    return _proven(request, person, proven)


@router.post(HERE + "/recovery-codes")
def recovery_codes(request: Request, desk: TheDesk, person: SettingUp, form: Typed) -> Response:
    try:
        codes = factor_setup.new_recovery(
            desk, person, form.value("recovery_password"), guards.client_address(request)
        )
    except (BadInput, SlowDown, Conflict) as refusal:
        return _refused(request, desk, person, form, refusal, "recovery_password")
    return _recovery(person, codes, HERE)


@router.post(HERE + "/{factor_id}/remove")
def remove(request: Request, desk: TheDesk, person: SettingUp, form: Typed, factor_id: str) -> Response:
    try:
        factor_setup.remove(
            desk,
            person,
            factor_id,
            form.value(f"remove_password-{factor_id}"),
            token=guards.page_token(request) or "",
            address=guards.client_address(request),
        )
    except (BadInput, SlowDown, Conflict) as refusal:
        return _refused(request, desk, person, form, refusal, f"remove_password-{factor_id}")
    return RedirectResponse(f"{HERE}?did=removed", 303)


def _refused(
    request: Request, desk: Desk, person: Person, form: Form, refusal: Refusal, field: str
) -> Response:
    words = next(iter(refusal.fields.values()), refusal.message)
    form.wrong(field if isinstance(refusal, BadInput) else "", words)
    return _page(request, desk, person, form, status_of(refusal))


def _page(
    request: Request, desk: Desk, person: Person, form: Form | None = None, status: int = 200, said: str = ""
) -> Response:
    view = factor_setup.my_factors(desk, person, guards.page_token(request) or "")
    zone = time_zone_of(desk, person.id)
    lines = []
    for one in view.factors:
        kind = tr("Codes from an app") if one.credential is None else tr("Passkey")
        since = tr("since {day}", day=day(one.made_at, zone))
        used = tr("last used {day}", day=day(one.used_at, zone)) if one.used_at else tr("not used yet")
        lines.append(
            FactorLine(one.id, one.name or kind, f"{kind}, {since}, {used}", f"{HERE}/{one.id}/remove")
        )
    left = trn("{n} recovery code is left.", "{n} recovery codes are left.", view.recovery_left)
    page = SecondFactorPage(view.first, tuple(lines), left if lines else "", person.email, view.by_password)
    html = render(
        "entrance/second_factor.html",
        page,
        errors=form.errors if form else {},
        said=said,
        person=person.name,
        person_id="" if view.first else person.id,
    )
    return HTMLResponse(html, status, headers=NO_STORE)


def _codes(person: Person, new: NewCodes, name: str, form: Form | None = None, status: int = 422) -> Response:
    page = CodesPage(new.spaced, new.drawn, name)
    html = render("entrance/second_factor_codes.html", page, errors=form.errors if form else {})
    return HTMLResponse(html, status if form else 200, headers=NO_STORE)


def _proven(request: Request, person: Person, proven: Proven) -> Response:
    on = "/" if proven.begun else HERE
    answer = _recovery(person, proven.recovery, on) if proven.recovery else RedirectResponse(on, 303)
    if proven.begun:
        guards.keep_sign_in(request, answer, proven.begun.token, proven.begun.ends_at)
    return answer


def _recovery(person: Person, codes: list[str], on: str) -> Response:
    html = render("entrance/recovery_codes.html", RecoveryPage(tuple(codes), on))
    return HTMLResponse(html, headers=NO_STORE)
