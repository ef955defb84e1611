"""Told in time: what one was told, read and unread; the phones one is told on; and asking to be told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.office.projects import my_projects
from service.actions.telling import push_services, telling
from service.actions.telling.sending_told import Outside
from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr, trn
from service.history.replay.turns import (
    BY_MAIL,
    BY_PUSH,
    EVENTS,
    HELD_EVENING,
    LOST_RELEASE,
    ON_PAGE,
    TURNED_CLEAR,
    WAYS,
)
from service.web.drawings.drawing import CheckBox
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

EVENT_WORDS = {
    TURNED_CLEAR: (later("A zone turns clear"), later("nothing holds it any more")),
    LOST_RELEASE: (later("A zone loses its release"), later("something changed, or it was pulled back")),
    HELD_EVENING: (
        later("A zone is held the evening before placing"),
        later("told at six in the evening, the site's time"),
    ),
}
WAY_WORDS = {
    ON_PAGE: later("On the page Told, with a count in the head of every page"),
    BY_MAIL: later("By mail"),
    BY_PUSH: later("As a message on my phones"),
}


def outside(request: Request) -> Outside:
    """What this service reaches people by."""
    found: Outside = request.app.state.outside
    return found


TheOutside = Annotated[Outside, Depends(outside)]


@dataclass(frozen=True, slots=True)
class ToldRow:
    """One message. `kind` marks an unread one by its line; `words` tell it so, too."""

    title: str
    words: str
    where: str
    href: str
    new: bool


@dataclass(frozen=True, slots=True)
class ToldPage:
    """`templates/entrance/told.html`. `push_key`: what a browser subscribes with, empty without push."""

    unread: str
    rows: tuple[ToldRow, ...]
    projects: tuple[tuple[str, str], ...]
    push_key: str
    phones: str


@dataclass(frozen=True, slots=True)
class WishPage:
    """`templates/entrance/told_wish.html`."""

    events: tuple[CheckBox, ...]
    ways: tuple[CheckBox, ...]
    zones: tuple[CheckBox, ...]
    action: str
    key: str


@router.get("/told")
def told(desk: TheDesk, person: Signed, out: TheOutside) -> Response:
    rows, new = [], 0
    for message in telling.told_to(desk, person.id):
        new += message.new
        words = telling.said(message.turn, message.letter)
        where = f"{message.project_name}, {moment(message.turn.at, message.time_zone)}"
        rows.append(ToldRow(words.title, words.words, where, f"/zones/{message.turn.zone_id}", message.new))
    count = push_services.phones(desk, person.id)
    page = ToldPage(
        unread=trn("{n} new message", "{n} new messages", new) if new else "",
        rows=tuple(rows),
        projects=tuple(
            (seen.project.name, f"/projects/{seen.project.id}/told") for seen in my_projects(desk, person.id)
        ),
        push_key=out.push_key().public_text if out.push_key else "",
        phones=trn("You take messages on {n} phone.", "You take messages on {n} phones.", count)
        if count
        else "",
    )
    html = render("entrance/told.html", page, person=person.name, person_id=person.id, told=new)
    return HTMLResponse(html)


@router.post("/told/read")
def read(desk: TheDesk, person: Signed) -> Response:
    telling.mark_read(desk, person.id)
    return RedirectResponse("/told", 303)


@router.post("/told/phones")
def take(desk: TheDesk, person: Signed, out: TheOutside, form: Typed) -> Response:
    """Asked for by the page's script: a browser without scripts has no push."""
    push_services.keep_phone(
        desk,
        person.id,
        form.value("endpoint"),
        form.value("p256dh"),
        form.value("auth"),
        anywhere=out.anywhere,
    )
    return Response(status_code=201)


@router.post("/told/phones/forget")
def forget(desk: TheDesk, person: Signed, form: Typed) -> Response:
    push_services.forget_phone(desk, person.id, form.value("endpoint"))
    return Response(status_code=200)


# --- asking to be told -----------------------------------------------------------------------------------


@router.get("/projects/{project_id}/told")
def wish_page(desk: TheDesk, person: Signed, out: TheOutside, project_id: str, did: str = "") -> Response:
    return _wish(telling.wish_of(desk, person.id, project_id), person, out, said=did == "asked")


@router.post("/projects/{project_id}/told")
def wish(desk: TheDesk, person: Signed, out: TheOutside, form: Typed, project_id: str) -> Response:
    view = telling.wish_of(desk, person.id, project_id)
    zones = [zone.id for zone in view.zones if form.flag(f"zone-{zone.id}")]
    events = [event for event in EVENTS if form.flag(f"event-{event}")]
    ways = [way for way in WAYS if form.flag(f"way-{way}")]
    if BY_MAIL in ways and not (out.mails and view.email):
        ways.remove(BY_MAIL)  # nothing it could be sent by, or to
    try:
        telling.ask_to_be_told(desk, person.id, project_id, zones, events, ways)
    except BadInput as refusal:
        for words in refusal.fields.values():
            form.wrong(f"way-{ON_PAGE}", words)
        return _wish(view, person, out, form)
    return RedirectResponse(f"/projects/{project_id}/told?did=asked", 303)


def _wish(
    view: telling.WishView, person: Signed, out: Outside, form: Form | None = None, said: bool = False
) -> Response:
    wished = view.wish

    def ticked(name: str, kept: bool) -> bool:
        return form.flag(name) if form else kept

    ways = [way for way in WAYS if way != BY_MAIL or (out.mails and view.email)]
    page = WishPage(
        events=tuple(
            CheckBox(
                f"event-{e}",
                tr(EVENT_WORDS[e][0]),
                tr(EVENT_WORDS[e][1]),
                ticked(f"event-{e}", e in wished.events),
            )
            for e in EVENTS
        ),
        ways=tuple(
            CheckBox(f"way-{w}", tr(WAY_WORDS[w]), "", ticked(f"way-{w}", w in wished.ways)) for w in ways
        ),
        zones=tuple(
            CheckBox(
                f"zone-{z.id}",
                tr("Zone {letter}", letter=z.letter),
                z.name,
                ticked(f"zone-{z.id}", z.id in wished.zones),
            )
            for z in view.zones
        ),
        action=f"/projects/{view.seen.project.id}/told",
        key=new_key(),
    )
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=form.errors if form else {},
        said=tr("Kept. You are told from now on as you asked.") if said else "",
    )
    return HTMLResponse(render("entrance/told_wish.html", page, **shell), 422 if form else 200)
