"""The release page: every reason against, the exact facts confirmed, the release, and how it fell away."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.moved import moved_since
from service.actions.frame.reading import ZoneView
from service.actions.office.release import release_zone
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, Conflict, FactsMoved, NotAllowed
from service.domain.words.speech import later, tr, trn
from service.history.replay.standing import CLEAR, LAYING, READY
from service.history.sentences.sentences import sentence
from service.web.drawings.drawing import ReasonRow, ScheduleRow, ZoneDrawing
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.office.pull_back import may_pull_back
from service.web.office.release_facts import confirmed_facts, mark_rows, not_asked_words, withdrawn_rows
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.placing_words import against_rows, placing_note, start_href
from service.web.shared.reasons import reason_rows
from service.web.shared.zone_views import (
    ZoneBlock,
    certificate_of,
    name_in,
    standing_view,
    zone_block,
    zone_drawing,
)

router = APIRouter(include_in_schema=False)

FACTS_CAUTION = later(
    "A release is a quality record. It does not replace the engineer of record, the local "
    "code or the film maker's instructions."
)
SAID = {
    "released": later("The zone is released. If anything of this changes, it goes back on hold by itself."),
    "pulled-back": later("The release is pulled back, and the reason is in the history."),
    "placed": later("The zone is marked placed."),
}


@dataclass(frozen=True, slots=True)
class MovedLine:
    """One entry that moved the zone's facts: what happened, and when."""

    words: str
    when: str


@dataclass(frozen=True, slots=True)
class ReleaseForm:
    """What the one button sends: the digest of the facts shown, and the history's head they were read at."""

    action: str
    key: str
    digest: str
    seen: int
    statement: str


@dataclass(frozen=True, slots=True)
class ReleasePage:
    """`templates/office/release.html`. `form` is None where nobody can release now or this person may not;
    then `off` says why on the button that cannot be pressed. `fell`: what took the last release away."""

    heading: str
    letter: str
    block: ZoneBlock
    drawing: ZoneDrawing
    zone_href: str
    edit_href: str
    lead: str
    reasons_lead: str
    reasons: tuple[ReasonRow, ...]
    signed: tuple[tuple[str, str], ...]
    fell_words: str
    fell: tuple[MovedLine, ...]
    moved: tuple[MovedLine, ...]
    facts: tuple[tuple[str, ...], ...]
    marks: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    not_asked: str
    digest: str
    form: ReleaseForm | None
    off: str
    pull_back_href: str
    placed_href: str
    start_href: str
    ready: bool
    history_href: str
    certificate_href: str


@router.get("/zones/{zone_id}/release")
def release_page(desk: TheDesk, person: Signed, zone_id: str, did: str = "") -> Response:
    return _answer(desk, person, standing_view(desk, person, zone_id), said=tr(SAID.get(did, "")))


@router.post("/zones/{zone_id}/release")
def release(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    statement = form.text("statement", needed=tr("State what you confirm."))
    status, moved = 422, False
    if not form.errors:
        try:
            return send_once(
                request,
                desk,
                person.id,
                form,
                lambda: _released(desk, person, zone_id, form.value("digest"), statement),
            )
        except BadInput as refusal:
            form.refused(refusal)
        except Conflict as refusal:
            form.refused(refusal)
            status, moved = 409, isinstance(refusal, FactsMoved)
    view = standing_view(desk, person, zone_id)
    if not roles.may(view.seen.role, "release a zone"):
        raise NotAllowed(tr("Only a project manager releases a zone."))
    return _answer(desk, person, view, form, status, moved=moved)


def _released(desk: Desk, person: Person, zone_id: str, digest: str, statement: str) -> str:
    release_zone(desk, person.id, zone_id, digest, statement)
    return f"/zones/{zone_id}/release?did=released"


def _answer(
    desk: Desk,
    person: Person,
    view: ZoneView,
    form: Form | None = None,
    status: int = 200,
    *,
    moved: bool = False,
    said: str = "",
) -> Response:
    project = view.seen.project
    html = render(
        "office/release.html",
        _page(desk, person, view, form, moved),
        **shell_of(
            project,
            view.seen.role,
            person,
            errors=form.errors if form else {},
            said=said,
            cautions=(tr(FACTS_CAUTION),),
        ),
    )
    return HTMLResponse(html, status)


def _page(desk: Desk, person: Person, view: ZoneView, form: Form | None, moved: bool) -> ReleasePage:
    zone, standing, project = view.zone, view.standing, view.seen.project
    may = roles.may(view.seen.role, "release a zone")
    open_for_release = standing.state == CLEAR
    placed = zone.placement is not None
    fallen = standing.release if standing.fallen and not placed else None
    return ReleasePage(
        heading=_heading(view),
        letter=zone.letter,
        block=zone_block(view, desk.clock()),
        drawing=zone_drawing(view),
        zone_href=f"/zones/{zone.id}",
        edit_href=f"/zones/{zone.id}/edit" if roles.may(view.seen.role, "outline a zone") else "",
        lead=_lead(view),
        reasons_lead=tr("Found during placing, not mended yet") if standing.found else "",
        reasons=reason_rows(standing.blockers, zone, project.id, project.units, view.site.defects),
        signed=_signed(view),
        fell_words=tr("Its release of {moment} fell away", moment=moment(fallen.at, project.time_zone))
        if fallen
        else "",
        fell=_lines(desk, person, view, fallen.seq) if fallen else (),
        moved=_lines(desk, person, view, _seen(form)) if moved else (),
        facts=confirmed_facts(view),
        marks=mark_rows(view),
        withdrawn=withdrawn_rows(view),
        not_asked=not_asked_words(view),
        digest=short_digest(standing.digest),
        form=_form(view, form) if open_for_release and may else None,
        off="" if placed or standing.state == READY else _off(view, may),
        pull_back_href=f"/zones/{zone.id}/pull-back" if may_pull_back(view) else "",
        placed_href="" if placed or not may else f"/zones/{zone.id}/placed",
        start_href=start_href(view),
        ready=standing.state == READY and not placed and may,
        history_href=f"/projects/{project.id}/history?zone={zone.id}",
        certificate_href=certificate_of(view),
    )


def _heading(view: ZoneView) -> str:
    letter, state = view.zone.letter, view.standing.state
    if view.zone.placement is not None:
        return tr("Zone {letter} is placed", letter=letter)
    if view.standing.placing is not None:
        return tr("Zone {letter} is being placed", letter=letter)
    return {
        READY: tr("Zone {letter} is ready to place", letter=letter),
        CLEAR: tr("Release zone {letter}", letter=letter),
        LAYING: tr("Why zone {letter} cannot be released yet", letter=letter),
    }.get(state, tr("Why zone {letter} is held", letter=letter))


def _lead(view: ZoneView) -> str:
    """One sentence under the heading."""
    placement = view.zone.placement
    if placement is not None and placement.without_release:
        return tr("It was placed without release. What stood against it is kept with it for ever:")
    if going_on := placing_note(view.standing, view.seen.project.time_zone):
        return going_on
    return {
        READY: tr("It stays so while nothing of this changes; anything that does holds it again by itself."),
        CLEAR: tr("Nothing stands against it. You confirm exactly what is written here, and nothing else."),
    }.get(view.standing.state, "")


def _signed(view: ZoneView) -> tuple[tuple[str, str], ...]:
    """Who released and who marked it placed, when, and what they stated."""
    zone_of, standing, placement = view.seen.project.time_zone, view.standing, view.zone.placement
    rows: list[tuple[str, str]] = []
    release = standing.release
    if release is not None and (standing.state == READY or (placement and not placement.without_release)):
        rows += [
            (tr("Released by"), name_in(view, release.by)),
            (tr("Released"), moment(release.at, zone_of)),
            (tr("Stating"), release.statement),
        ]
    if placement is not None:
        rows += [
            (tr("Placed"), moment(placement.at, zone_of)),
            (tr("Marked by"), name_in(view, placement.by)),
        ]
        rows += [(tr("Volume"), placement.volume)] if placement.volume else []
        rows += against_rows(placement)
    return tuple(rows)


def _seen(form: Form | None) -> int:
    typed = form.value("seen") if form else ""
    return int(typed) if typed.isdecimal() and len(typed) < 12 else 0


def _lines(desk: Desk, person: Person, view: ZoneView, seq: int) -> tuple[MovedLine, ...]:
    project = view.seen.project
    return tuple(
        MovedLine(sentence(entry, view.names, project.units), moment(entry.at, project.time_zone))
        for entry in moved_since(desk, person.id, view.zone.id, seq)
    )


def short_digest(digest: str) -> str:
    """The first twelve signs of a digest in fours, to read out over the phone."""
    plain = digest.split(":", 1)[-1]
    return " ".join(plain[start : start + 4] for start in (0, 4, 8))


def _form(view: ZoneView, form: Form | None) -> ReleaseForm:
    return ReleaseForm(
        action=f"/zones/{view.zone.id}/release",
        key=new_key(),
        digest=view.standing.digest,
        seen=view.seen.head,
        statement=form.value("statement") if form else _offered(view),
    )


def _offered(view: ZoneView) -> str:
    """A statement to start from; the project manager's own words are as good."""
    count = len(view.standing.facts.defects)
    marks = (
        trn("{n} mark, every one sealed", "{n} marks, every one sealed", count)
        if count
        else tr("no defect marked")
    )
    asked = view.standing.facts.numbers.gate_demands
    if not asked:
        return tr(
            "I confirm what is listed here for zone {letter}: {marks}, a finished punch walk, and no hold. "
            "It may be placed.",
            letter=view.zone.letter,
            marks=marks,
        )
    return tr(
        "I confirm what is listed here for zone {letter}: {marks}, a finished punch walk, {demands} in "
        "order, and no hold. It may be placed.",
        letter=view.zone.letter,
        marks=marks,
        demands=", ".join(map(tr, asked)),
    )


def _off(view: ZoneView, may: bool) -> str:
    count = len(view.standing.blockers)
    if count:
        return trn(
            "Release zone {letter}: {n} reason stands",
            "Release zone {letter}: {n} reasons stand",
            count,
            letter=view.zone.letter,
        )
    return "" if may else tr("Only a project manager releases")
