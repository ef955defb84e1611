"""The ready lists of a project: open one by a link that is shown once, see what is open, withdraw one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.office.ready_lists import (
    ReadyListsView,
    one_ready_list,
    open_ready_list,
    ready_lists_of,
    withdraw_ready_list,
)
from service.domain.nouns import roles
from service.domain.nouns.kept import ReadyLink
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import address_once, new_key
from service.web.serving.errors import status_of
from service.web.serving.guards import Signed, TheDesk, whole_address
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)

SAID = {
    "again": later(
        "That ready list was opened already, and its link was shown that once. If nobody has "
        "it, withdraw the list and open another."
    ),
    "withdrawn": later("The link is withdrawn: it opens nothing any more."),
}


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One ready list. `href`: where it is withdrawn, for those who may; `gone`: why it was."""

    label: str
    opened: str
    gone: str
    href: str


@dataclass(frozen=True, slots=True)
class ReadyListsPage:
    """`templates/office/ready_lists.html`. `shown`: the label and the address of a link made just now."""

    may: bool
    open: tuple[LinkRow, ...]
    withdrawn: tuple[LinkRow, ...]
    shown: tuple[str, str] | None
    key: str
    action: str
    label: str


@router.get("/projects/{project_id}/ready-lists")
def ready_lists(desk: TheDesk, person: Signed, project_id: str, did: str = "") -> Response:
    return _answer(desk, person, project_id, said=tr(SAID.get(did, "")))


@router.post("/projects/{project_id}/ready-lists")
def open_one(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """The link is in this answer alone. The same form sent again says so."""
    root, fresh = f"/projects/{project_id}/ready-lists", []

    def act() -> tuple[int, str]:
        fresh.append(open_ready_list(desk, person.id, project_id, form.value("label")))
        return 303, f"{root}?did=again"

    try:
        address = address_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form, status_of(refusal))
    if not fresh:
        return RedirectResponse(address, 303)
    shown = (fresh[0].link.label, whole_address(request, f"/ready/{fresh[0].token}"))
    return _answer(desk, person, project_id, shown=shown)


def _answer(
    desk: Desk,
    person: Person,
    project_id: str,
    form: Form | None = None,
    status: int = 422,
    *,
    shown: tuple[str, str] | None = None,
    said: str = "",
) -> Response:
    view = ready_lists_of(desk, person.id, project_id)
    shell = shell_of(view.seen.project, view.seen.role, person, errors=form.errors if form else {}, said=said)
    html = render("office/ready_lists.html", _page(view, form, shown), **shell)
    return HTMLResponse(html, status if form else 200, headers={"Cache-Control": "no-store"})


def _page(view: ReadyListsView, form: Form | None, shown: tuple[str, str] | None) -> ReadyListsPage:
    rows = [(_row(link, view), link.withdrawn is None) for link in view.links]
    return ReadyListsPage(
        may=roles.may(view.seen.role, "open a ready list"),
        open=tuple(row for row, works in rows if works),
        withdrawn=tuple(row for row, works in rows if not works),
        shown=shown,
        key=new_key(),
        action=f"/projects/{view.seen.project.id}/ready-lists",
        label=form.value("label") if form else "",
    )


def _row(link: ReadyLink, view: ReadyListsView) -> LinkRow:
    who = view.names.get(link.by, tr("a person no longer named"))
    may = roles.may(view.seen.role, "withdraw a ready list") and link.withdrawn is None
    return LinkRow(
        label=link.label,
        opened=tr("opened {moment} by {who}", moment=moment(link.at, view.seen.project.time_zone), who=who),
        gone=link.withdrawn or "",
        href=f"/ready-lists/{link.id}/withdraw" if may else "",
    )


# --- withdrawing one -------------------------------------------------------------------------------------


@router.get("/ready-lists/{link_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, link_id: str) -> Response:
    return _show_withdraw(desk, person, link_id)


@router.post("/ready-lists/{link_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, link_id: str) -> Response:
    seen, _ = one_ready_list(desk, person.id, link_id)

    def act(reason: str) -> str:
        withdraw_ready_list(desk, person.id, link_id, reason)
        return f"/projects/{seen.project.id}/ready-lists?did=withdrawn"

    shown = partial(_show_withdraw, desk, person, link_id)
    return take_back(request, desk, person, form, tr("Say why the link is withdrawn."), act, shown)


def _show_withdraw(
    desk: Desk, person: Person, link_id: str, form: Form | None = None, status: int = 0
) -> Response:
    seen, link = one_ready_list(desk, person.id, link_id)
    if not roles.may(seen.role, "withdraw a ready list"):
        raise NotAllowed(tr("Only a project manager withdraws ready lists."))
    told = Withdrawing(
        title=tr("Withdraw this link"),
        words=tr(
            "The ready list for {label} stops opening at once, for everybody who has its link. "
            "Tell them yourself: nobody is told from here.",
            label=link.label,
        ),
        gone=link.withdrawn,
        action=f"/ready-lists/{link.id}/withdraw",
        back=f"/projects/{seen.project.id}/ready-lists",
        back_words=tr("Back to the ready lists"),
    )
    return withdraw_html(told, seen.project, seen.role, person, form, status)
