"""Signing a crew in by a code: making one in the office, the page that it opens, and ending a sign-in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.languages import speech_for
from service.actions.people.code_sheets import LANGUAGES, CodeSheet, crew_sheet
from service.actions.people.crew_codes import (
    CodesView,
    CodeView,
    code_for_sheet,
    code_shown,
    codes_to_make,
    end_code,
    make_code,
    use_code,
)
from service.domain.nouns import roles
from service.domain.nouns.site import Project
from service.domain.words.refusals import BadInput, Conflict, NotFound, SlowDown
from service.domain.words.speech import speaking, tr
from service.web.drawings.drawing import Choice
from service.web.entrance.code_sheets import paper, sheet_page
from service.web.entrance.languages import keep_language
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving import guards
from service.web.serving.errors import status_of
from service.web.serving.guards import Signed, TheDesk, whole_address
from service.web.serving.render import RECORD_SENTENCE, clock, moment, render
from service.web.serving.ways import home_of, shell_of

router = APIRouter(include_in_schema=False)

NEW = "new"  # the choice beside the crew leads: somebody who has no account here
# A secret stands in the address: it is passed on to nobody, and kept by no browser.
SECRET = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}


@dataclass(frozen=True, slots=True)
class OpenCode:
    """An unused code, or a sign-in by one. `end`: what the button that ends it says."""

    name: str
    words: str
    end: str
    action: str


@dataclass(frozen=True, slots=True)
class CrewCodesPage:
    """`templates/office/crew_codes.html`."""

    leads: tuple[Choice, ...]
    chosen: str
    name: str
    key: str
    action: str
    open: tuple[OpenCode, ...]
    back: str


@dataclass(frozen=True, slots=True)
class CodeSaid:
    """The page that a code opens, in one language. `button` signs in and speaks that language on."""

    lang: str
    title: str
    words: str
    facts: tuple[tuple[str, str], ...]
    button: str


@dataclass(frozen=True, slots=True)
class CodePage:
    """`templates/entrance/code.html`."""

    action: str
    said: tuple[CodeSaid, ...]


@dataclass(frozen=True, slots=True)
class CodeGonePage:
    """`templates/entrance/code_gone.html`: (language, title, words) each."""

    said: tuple[tuple[str, str, str], ...]


# --- in the office ---------------------------------------------------------------------------------------


@router.get("/projects/{project_id}/crew-codes")
def crew_codes(desk: TheDesk, person: Signed, project_id: str, did: str = "") -> Response:
    said = tr("Ended. That phone is signed out with the next thing it asks.") if did == "ended" else ""
    return _answer(desk, person, project_id, said=said)


@router.post("/projects/{project_id}/crew-codes")
def make_one(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """The code is in this answer alone. Sent again, the form makes another: an unused one ends by itself."""
    seen = codes_to_make(desk, person.id, project_id).seen
    chosen = form.value("person_id")
    if not chosen:
        form.wrong("person_id", tr("Choose who signs in."))
        return _answer(desk, person, project_id, form)
    try:
        made = make_code(desk, person.id, project_id, "" if chosen == NEW else chosen, form.value("name"))
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form, status_of(refusal))
    project = seen.project
    sheet = _sheet(request, desk, CodeView(made.code, project.name, project.time_zone), project, made.token)
    page = sheet_page(
        sheet,
        tr("Code for {name}", name=made.code.name),
        pdf_href=f"/projects/{project_id}/crew-codes/sheet.pdf",
        back=f"/projects/{project_id}/crew-codes",
        back_words=tr("Back to the codes"),
        token=made.token,
    )
    html = render("lists/code_sheet.html", page, **shell_of(project, seen.role, person))
    return HTMLResponse(html, headers=SECRET)


@router.post("/projects/{project_id}/crew-codes/sheet.pdf")
def code_paper(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """The sheet of a code just made, whose secret comes with the form: it is kept nowhere."""
    project = codes_to_make(desk, person.id, project_id).seen.project
    token = form.value("code")
    try:
        view = code_for_sheet(desk, person.id, project_id, token)
    except NotFound:
        form.wrong("", tr("That code was used or has run out. Make a new one."))
        return _answer(desk, person, project_id, form, 409)
    return paper(_sheet(request, desk, view, project, token), "crew-code")


@router.post("/projects/{project_id}/crew-codes/{code_id}/end")
def end_one(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str, code_id: str
) -> Response:
    def act() -> str:
        end_code(desk, person.id, project_id, code_id)
        return f"/projects/{project_id}/people?did=code-ended"

    return send_once(request, desk, person.id, form, act)


def _sheet(request: Request, desk: Desk, view: CodeView, project: Project, token: str) -> CodeSheet:
    def when(at: datetime) -> str:
        return clock(at, view.time_zone)

    address = whole_address(request, f"/code/{token}")
    return crew_sheet(view, project.units, address, when, RECORD_SENTENCE, desk.clock())


def _answer(
    desk: Desk, person: Person, project_id: str, form: Form | None = None, status: int = 422, said: str = ""
) -> Response:
    view = codes_to_make(desk, person.id, project_id)
    leads = [Choice(lead.id, lead.name, lead.email) for lead in view.leads]
    leads.append(Choice(NEW, tr("Somebody without an account"), tr("write the name below")))
    page = CrewCodesPage(
        leads=tuple(leads),
        chosen=form.value("person_id") if form else "",
        name=form.value("name") if form else "",
        key=new_key(),
        action=f"/projects/{project_id}/crew-codes",
        open=open_codes(view),
        back=f"/projects/{project_id}/people",
    )
    shell = shell_of(view.seen.project, view.seen.role, person, errors=form.errors if form else {}, said=said)
    html = render("office/crew_codes.html", page, **shell)
    return HTMLResponse(html, status if form else 200, headers={"Cache-Control": "no-store"})


def open_codes(view: CodesView) -> tuple[OpenCode, ...]:
    """Unused codes and sign-ins by code, for whoever may end them."""
    project = view.seen.project
    found = []
    for code in view.open:
        until = moment(code.ends_at, project.time_zone)
        if code.used_at is None:
            words, end = tr("code not used yet, good until {time}", time=until), tr("End the code")
        else:
            since = moment(code.used_at, project.time_zone)
            words = tr("signed in by code {since}, until {time} at the latest", since=since, time=until)
            end = tr("Sign out")
        action = f"/projects/{project.id}/crew-codes/{code.id}/end"
        found.append(OpenCode(code.name, words, end, action))
    return tuple(found)


# --- on the phone ----------------------------------------------------------------------------------------


@router.get("/code/{token}")
def code_page(desk: TheDesk, token: str) -> Response:
    """What the code is for. Looking uses nothing up: cameras and previews open addresses too."""
    try:
        view = code_shown(desk, token)
    except NotFound:
        return _gone(404)
    page = CodePage(f"/code/{token}", _in_each(view))
    return HTMLResponse(render("entrance/code.html", page), headers=SECRET)


@router.post("/code/{token}")
def sign_in_by_code(request: Request, desk: TheDesk, form: Typed, token: str) -> Response:
    """The press that uses the code up. Whoever was signed in on this phone before is not any more."""
    try:
        secret, ends_at, code = use_code(desk, token, guards.client_address(request))
    except NotFound:
        return _gone(404)
    except SlowDown as refusal:
        answer = _gone(429)
        answer.headers["Retry-After"] = str(refusal.after_s)
        return answer
    old = guards.page_token(request)
    if old:
        accounts.sign_out(desk, old)
    answer = RedirectResponse(home_of(code.project_id, roles.CREW_LEAD), 303, headers=SECRET)
    guards.keep_sign_in(request, answer, secret, ends_at)
    if form.value("language") in LANGUAGES:
        keep_language(request, answer, form.value("language"))
    return answer


def _in_each(view: CodeView) -> tuple[CodeSaid, ...]:
    found = []
    for lang in LANGUAGES:
        with speaking(speech_for(lang)):
            found.append(
                CodeSaid(
                    lang=lang,
                    title=tr("Sign in as {name}", name=view.code.name),
                    words=tr(
                        "What is marked and patched on this phone stands under this name, until you sign out "
                        "or 30 days are over. The code works once, on one phone."
                    ),
                    facts=(
                        (tr("Project"), view.project_name),
                        (tr("Role"), tr(roles.CREW_LEAD)),
                        (tr("Code good until"), clock(view.code.ends_at, view.time_zone)),
                    ),
                    button=tr("Sign in"),
                )
            )
    return tuple(found)


def _gone(status: int) -> Response:
    """Used, too old, none of ours, or asked too often: said in both languages, and told apart by nobody."""
    said = []
    for lang in LANGUAGES:
        with speaking(speech_for(lang)):
            words = tr(
                "The code was used already, or it is older than ten minutes. Ask the office for a new one."
            )
            if status == 429:
                words = tr("Too many codes were tried from here. Wait a minute, then open the code again.")
            said.append((lang, tr("This code signs nobody in"), words))
    return HTMLResponse(render("entrance/code_gone.html", CodeGonePage(tuple(said))), status, headers=SECRET)
