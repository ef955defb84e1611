"""The people of a project: invite by a link, change a role, take somebody off, help one who is locked out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance import resets
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.people.crew_codes import CodesView, codes_of
from service.actions.people.inviting import withdraw_invitation
from service.actions.people.people import PeopleView, change_role, invite, people_of, take_off
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound, Refusal
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import Choice
from service.web.entrance.crew_codes import OpenCode, open_codes
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import address_once, new_key, send_once
from service.web.serving.errors import status_of
from service.web.serving.guards import Signed, TheDesk, whole_address
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

WHAT_ROLES_DO = (
    Choice(roles.CREW_LEAD, later("Crew lead"), later("marks, patches, finishes walks")),
    Choice(roles.PROJECT_MANAGER, later("Project manager"), later("rule sheet, zones, people, releases")),
    Choice(roles.INSPECTOR, later("Inspector"), later("reads everything, may mark a defect")),
)
SAID = {
    "joined": later("They have an account already, so they are on the project now. No link is needed."),
    "again": later(
        "That invitation was made already, and its link was shown that once. Make a new link below."
    ),
    "withdrawn": later("The invitation is withdrawn: its link lets nobody in any more."),
    "role": later("The role is changed."),
    "code-ended": later("Ended. That phone is signed out with the next thing it asks."),
    "off": later("They are off the project. What they did stays in its history."),
}


@dataclass(frozen=True, slots=True)
class MemberRow:
    """Somebody on the project; the actions are empty where this reader may not."""

    name: str
    email: str
    role: str
    me: bool
    action: str


@dataclass(frozen=True, slots=True)
class InvitationRow:
    email: str
    role: str
    ends: str
    action: str


@dataclass(frozen=True, slots=True)
class ShownLink:
    """A secret link, shown this once."""

    title: str
    words: str
    link: str


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """`templates/office/people.html`. `may`: this reader invites and changes roles."""

    may: bool
    members: tuple[MemberRow, ...]
    invitations: tuple[InvitationRow, ...]
    shown: ShownLink | None
    key: str
    invite_action: str
    email: str
    role: str
    roles: tuple[Choice, ...]
    role_words: tuple[tuple[str, str], ...]
    codes: tuple[OpenCode, ...]
    codes_href: str
    may_end: bool


@router.get("/projects/{project_id}/people")
def people_page(desk: TheDesk, person: Signed, project_id: str, did: str = "") -> Response:
    return _answer(desk, person, project_id, said=tr(SAID.get(did, "")))


@router.post("/projects/{project_id}/people")
def invite_somebody(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str
) -> Response:
    """The link is in this answer alone. The same form sent again says so, and offers a new one."""
    root, fresh = f"/projects/{project_id}/people", []

    def act() -> tuple[int, str]:
        made = invite(desk, person.id, project_id, form.value("email"), form.value("role"))
        fresh.append(made)
        return 303, f"{root}?did={'joined' if made.person else 'again'}"

    if not form.value("role"):
        form.wrong("role", tr("Choose what they do on the site."))
    if not form.value("email").strip():
        form.wrong("email", tr("Write the email address of the person you invite."))
    if form.errors:
        return _answer(desk, person, project_id, form)
    try:
        address = address_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form, status_of(refusal))
    if not fresh or fresh[0].token is None:
        return RedirectResponse(address, 303)
    shown = ShownLink(
        tr("The link for {email}", email=fresh[0].email),
        tr(
            "Send it to them yourself. It lets one person in as {role}, once, within seven days, "
            "and is shown only now: copy it before you leave this page.",
            role=tr(fresh[0].role),
        ),
        whole_address(request, f"/join/{fresh[0].token}"),
    )
    return _answer(desk, person, project_id, shown=shown)


@router.post("/projects/{project_id}/invitations/{invitation_id}/withdraw")
def withdraw(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str, invitation_id: str
) -> Response:
    def act() -> str:
        withdraw_invitation(desk, person.id, project_id, invitation_id)
        return f"/projects/{project_id}/people?did=withdrawn"

    return _act(
        request, desk, person, form, project_id, act, tr("The invitation was used or withdrawn already.")
    )


@router.post("/projects/{project_id}/people/{person_id}/role")
def give_role(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str, person_id: str
) -> Response:
    def act() -> str:
        change_role(desk, person.id, project_id, person_id, form.value("role"))
        return f"/projects/{project_id}/people?did=role"

    return _act(request, desk, person, form, project_id, act, tr("They are off the project already."))


@router.post("/projects/{project_id}/people/{person_id}/take-off")
def take_person_off(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str, person_id: str
) -> Response:
    def act() -> str:
        take_off(desk, person.id, project_id, person_id)
        return "/" if person_id == person.id else f"/projects/{project_id}/people?did=off"

    return _act(request, desk, person, form, project_id, act, tr("They are off the project already."))


@router.post("/projects/{project_id}/people/{person_id}/reset")
def reset_link(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str, person_id: str
) -> Response:
    """A link to choose a new password; each press makes one, and only its newest sending shows it."""
    view = people_of(desk, person.id, project_id)
    named = {member.id: member.name for member, _ in view.members}
    if person_id not in named:
        raise NotFound
    if not roles.may(view.seen.role, "invite people"):
        raise NotAllowed(tr("Only a project manager makes this link."))
    try:
        token = resets.make_reset(desk, person.id, person_id)
    except NotAllowed as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form, 403)
    shown = ShownLink(
        tr("The link for {named}", named=named[person_id]),
        tr(
            "Give it to nobody else: whoever opens it chooses their password. It works once, "
            "within 60 minutes, and is shown only now."
        ),
        whole_address(request, f"/reset/{token}"),
    )
    return _answer(desk, person, project_id, shown=shown)


def _act(
    request: Request,
    desk: Desk,
    person: Person,
    form: Form,
    project_id: str,
    act: Callable[[], str],
    gone: str,
) -> Response:
    """Run one change once; a refusal is told on the people page. `gone`: what NotFound means here."""
    people_of(desk, person.id, project_id)  # NotFound here means that the project is not theirs to see
    told: Refusal
    try:
        return send_once(request, desk, person.id, form, act)
    except NotFound:
        told = Conflict(gone, code="gone")
    except (BadInput, Conflict) as refusal:
        told = Conflict(refusal.message) if isinstance(refusal, BadInput) else refusal
    form.refused(told)
    return _answer(desk, person, project_id, form, status_of(told))


def _answer(
    desk: Desk,
    person: Person,
    project_id: str,
    form: Form | None = None,
    status: int = 422,
    *,
    shown: ShownLink | None = None,
    said: str = "",
) -> Response:
    view = people_of(desk, person.id, project_id)
    may = roles.may(view.seen.role, "invite people")
    if form is not None and not may:
        raise NotAllowed(tr("Only a project manager invites people."))
    shell = shell_of(view.seen.project, view.seen.role, person, errors=form.errors if form else {}, said=said)
    page = _page(view, person, form, may, shown, codes_of(desk, person.id, project_id))
    html = render("office/people.html", page, **shell)
    return HTMLResponse(html, status if form else 200, headers={"Cache-Control": "no-store"})


def _page(
    view: PeopleView,
    person: Person,
    form: Form | None,
    may: bool,
    shown: ShownLink | None,
    codes: CodesView,
) -> PeoplePage:
    root, zone = f"/projects/{view.seen.project.id}", view.seen.project.time_zone
    return PeoplePage(
        may=may,
        members=tuple(
            MemberRow(
                member.name,
                member.email if may else "",
                role,
                member.id == person.id,
                f"{root}/people/{member.id}" if may else "",
            )
            for member, role in view.members
        ),
        invitations=tuple(
            InvitationRow(
                one.email, one.role, _until(one.ends_at, zone), f"{root}/invitations/{one.id}/withdraw"
            )
            for one in view.open
        ),
        shown=shown,
        key=new_key(),
        invite_action=f"{root}/people",
        email=form.value("email") if form else "",
        role=form.value("role") if form else "",
        roles=tuple(Choice(role.value, tr(role.words), tr(role.small)) for role in WHAT_ROLES_DO),
        role_words=tuple((choice.value, tr(choice.words)) for choice in WHAT_ROLES_DO),
        codes=open_codes(codes),
        codes_href=f"{root}/crew-codes" if roles.may(view.seen.role, "make a crew code") else "",
        may_end=roles.may(view.seen.role, "end a sign-in by code"),
    )


def _until(at: datetime, zone: str) -> str:
    return tr("its link works until {moment}", moment=moment(at, zone))
