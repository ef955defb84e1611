"""Check an old checkpoint: what it says of the history now, and the first entry that does not fit."""

from __future__ import annotations

import base64
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import HTMLResponse

from service.actions.entrance.accounts import Person
from service.actions.evidence.audit import head_seen
from service.actions.evidence.old_checkpoint import Checked, check_old
from service.actions.evidence.old_record import old_leaves, old_note
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr, trc, trn
from service.history.proofs import kept_check as check
from service.history.proofs.growth import Growth
from service.web.forms.forms import Form, Typed
from service.web.inspector.history import LogRow, log_row
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)
PATH = "/projects/{project_id}/checkpoints/check"
LONGEST_NOTE = 64 * 1024
TOLD_ON_TOP = (check.SAME, check.GREW)
IN_SHORT = {
    check.NO_NOTE: later("This is no checkpoint."),
    check.OTHER_PROJECT: later("This checkpoint is of another project."),
    check.CUT: later("The history was cut."),
    check.REWRITTEN: later("The history was rewritten."),
    check.SIGNATURE: later("This checkpoint was changed after it was signed."),
    check.UNKNOWN_KEY: later("A key that this history never used signed this checkpoint."),
    check.EMPTY: later("This checkpoint covers nothing."),
}


@dataclass(frozen=True, slots=True)
class PointRow:
    """One thing that holds or does not; `holds` is its word, `kind` its line."""

    holds: str
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Grown:
    """The proof that the history only grew: what it leads from and to, its hashes, and the file."""

    words: str
    hashes: tuple[str, ...]
    href: str


@dataclass(frozen=True, slots=True)
class Answered:
    """What came of a check. `between`: in which entries the first that does not fit lies, in words."""

    verdict: str
    kind: str
    points: tuple[PointRow, ...]
    first: tuple[LogRow, ...]
    between: str
    between_href: str
    grown: Grown | None
    no_proof: str


@dataclass(frozen=True, slots=True)
class OldCheckpointPage:
    """`templates/inspector/old_checkpoint.html`. `answered` is None before anything was sent."""

    root: str
    action: str
    typed: str
    answered: Answered | None


@router.get(PATH)
def old_checkpoint_page(desk: TheDesk, person: Signed, project_id: str) -> HTMLResponse:
    return _shown(desk, person, project_id, None, None)


@router.post(PATH)
def check_old_checkpoint(desk: TheDesk, person: Signed, form: Typed, project_id: str) -> HTMLResponse:
    seen = head_seen(desk, person.id, project_id)
    text, theirs = _sent(form)
    answered = None
    if not form.errors:
        checked = check_old(desk, person.id, project_id, text, theirs)
        answered = _answered(checked, f"/projects/{seen.project.id}")
    return _shown(desk, person, project_id, form, answered)


def _sent(form: Form) -> tuple[str, list[bytes]]:
    """The note and the old record's leaf hashes; what cannot be read is noted in the form."""
    typed, file, record = form.value("note"), form.file("checkpoint"), form.file("record")
    theirs: list[bytes] = []
    try:
        if record is not None:
            theirs = old_leaves(record.file)
        if file is not None and typed.strip():
            form.wrong("note", tr("Give the file or the text, not both."))
        elif file is not None:
            typed, inside = old_note(file.file)
            theirs = theirs or inside
    except BadInput as bad:
        form.refused(bad)
    if not typed.strip():
        form.wrong("checkpoint", tr("Choose the checkpoint's file, or paste its text."))
    elif len(typed) > LONGEST_NOTE:
        form.wrong("note", tr("This is longer than any checkpoint."))
    return typed, theirs


def _shown(
    desk: Desk, person: Person, project_id: str, form: Form | None, answered: Answered | None
) -> HTMLResponse:
    seen, root = head_seen(desk, person.id, project_id), f"/projects/{project_id}"
    page = OldCheckpointPage(
        root=root,
        action=f"{root}/checkpoints/check",
        typed=form.value("note")[:LONGEST_NOTE] if form else "",
        answered=answered,
    )
    errors = form.errors if form else {}
    shell = shell_of(seen.project, seen.role, person, errors=errors)
    html = render("inspector/old_checkpoint.html", page, **shell)
    return HTMLResponse(html, 422 if errors else 200)


def _answered(checked: Checked, root: str) -> Answered:
    verdict = checked.verdict
    words, href = _between(verdict, root)
    return Answered(
        verdict=_in_short(verdict),
        kind="holds" if verdict.holds else "stop",
        points=tuple(
            PointRow(trc("point", "Holds"), "", point.words)
            if point.holds
            else PointRow(trc("point", "Does not hold"), "amiss", point.words)
            for point in verdict.points
            if not (verdict.holds and point.code in TOLD_ON_TOP)
        ),
        first=(log_row(checked.first, checked.seen.project.time_zone),) if checked.first else (),
        between=words,
        between_href=href,
        grown=_grown(checked.growth, root) if checked.growth else None,
        no_proof=_no_proof(checked),
    )


def _in_short(verdict: check.Verdict) -> str:
    """The one sentence on top: that it holds, or the gravest thing that does not."""
    if verdict.holds:
        return next(point.words for point in verdict.points if point.code in TOLD_ON_TOP)
    return next(
        (tr(words) for code, words in IN_SHORT.items() if code in verdict.codes),
        tr("Your checkpoint fits, but the history was changed elsewhere."),
    )


def _between(verdict: check.Verdict, root: str) -> tuple[str, str]:
    """Where the first entry that does not fit lies, when it is not known which it is."""
    if verdict.between is None or verdict.first is not None:
        return "", ""
    low, high = verdict.between
    href = f"{root}/history?before={high + 1}"
    if low == high:
        told = tr(
            "The checkpoints kept here put it at entry {seq}, unless they were changed as well.", seq=low
        )
        return told, href
    told = tr(
        "By the checkpoints kept here the first entry that does not fit is one of {low} to {high}, unless "
        "they were changed as well. An old record names it: give one beside the checkpoint.",
        low=low,
        high=high,
    )
    return told, href


def _grown(growth: Growth, root: str) -> Grown:
    newer = growth.new
    return Grown(
        tr(
            "From your checkpoint of {entries} to the newest, of {newer}.",
            entries=trn("{n} entry", "{n} entries", growth.old),
            newer=newer,
        ),
        tuple(base64.b64encode(one).decode() for one in growth.hashes),
        f"{root}/checkpoints/{newer}/since/{growth.old}.txt",
    )


def _no_proof(checked: Checked) -> str:
    """Why there is no proof to take along, where the history did grow."""
    if checked.growth is not None or check.GREW not in checked.verdict.codes:
        return ""
    return tr(
        "No newer checkpoint left since, so there is no proof to take along. Keep a checkpoint, check again, "
        "and it is here."
    )
