"""Checkpoints: all that left the building, the keys that signed them, one with its text, and keeping one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Path, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.evidence import signing, timestamping
from service.actions.evidence.checkpoints import (
    Kept,
    KeyInUse,
    OneKept,
    growth,
    kept_checkpoints,
    one_checkpoint,
)
from service.domain.nouns import roles
from service.domain.words.refusals import Conflict
from service.domain.words.speech import later, tr, trc, trn
from service.history.facts.evidence import CheckpointGiven
from service.history.proofs.by_hand import Step, checkpoint_steps
from service.history.proofs.checkpoints import fingerprint, in_fours
from service.history.proofs.merkle import BadProof
from service.web.forms.forms import Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

ROWS = 60
Size = Annotated[int, Path(ge=0, le=10**15)]
WAYS = {
    signing.DOWNLOAD: later("kept by hand"),
    signing.CERTIFICATE: later("on a certificate"),
    signing.TIMESTAMP: later("sent to be timestamped"),
}
HONESTY = later(
    "Evidence against later change by anyone, provided one checkpoint left our hands before the change."
)


@dataclass(frozen=True, slots=True)
class KeptRow:
    """One checkpoint of the list: how much it covers, who was given it and how, its first signs."""

    size: int
    covers: str
    given: str
    how: str
    root: str
    key: str
    href: str


@dataclass(frozen=True, slots=True)
class KeyRow:
    """A key by its whole fingerprint in fours, and the entries it signs."""

    fingerprint: str
    words: str


@dataclass(frozen=True, slots=True)
class CheckpointsPage:
    """`templates/inspector/checkpoints.html`."""

    root: str
    honesty: str
    told: str
    rows: tuple[KeptRow, ...]
    keys: tuple[KeyRow, ...]
    request_key: str
    stamps: bool
    older_href: str


@dataclass(frozen=True, slots=True)
class CheckpointPage:
    """`templates/inspector/checkpoint.html`. `qr`: path and side of a QR code; `faults` empty: it holds."""

    root: str
    size: int
    covers: str
    faults: tuple[str, ...]
    facts: tuple[tuple[str, ...], ...]
    root_hash: str
    fingerprint: str
    note: str
    qr: tuple[str, int] | None
    download_href: str
    given_href: str
    stamp_href: str
    steps: tuple[Step, ...]


@router.get("/projects/{project_id}/checkpoints")
def checkpoints_page(
    desk: TheDesk,
    person: Signed,
    project_id: str,
    before: Annotated[int | None, Query(ge=1, le=10**12)] = None,
) -> HTMLResponse:
    view = kept_checkpoints(desk, person.id, project_id)
    fit = [kept for kept in view.kept if before is None or kept.size < before]
    root, zone_time = f"/projects/{project_id}", view.seen.project.time_zone
    page = CheckpointsPage(
        root=root,
        honesty=tr(HONESTY),
        told=trn("{n} checkpoint left the building.", "{n} checkpoints left the building.", len(view.kept))
        if view.kept
        else "",
        rows=tuple(_row(kept, root, zone_time) for kept in fit[:ROWS]),
        keys=tuple(map(_key_row, view.keys)),
        request_key=new_key(),
        stamps=timestamping.authority_named(desk)
        and roles.may(view.seen.role, "have a checkpoint timestamped"),
        older_href=f"{root}/checkpoints?before={fit[ROWS - 1].size}" if len(fit) > ROWS else "",
    )
    shell = shell_of(view.seen.project, view.seen.role, person)
    return HTMLResponse(render("inspector/checkpoints.html", page, **shell))


def _row(kept: Kept, root: str, zone_time: str) -> KeptRow:
    line = kept.line
    when = (
        f"{moment(line.entry.at, zone_time)}, {line.who}, {tr(line.entry.role)}"
        if line
        else tr("by no entry")
    )
    return KeptRow(
        size=kept.size,
        covers=trn("{n} entry", "{n} entries", kept.size),
        given=when,
        how=tr("{how}; timestamped", how=how_it_left(kept)) if kept.stamped else how_it_left(kept),
        root=in_fours(kept.checkpoint.root.hex()[:16]) if kept.checkpoint else tr("cannot be read"),
        key=in_fours(fingerprint(kept.key)[:16]) if kept.key else tr("none told"),
        href=f"{root}/checkpoints/{kept.size}",
    )


def how_it_left(kept: Kept) -> str:
    if kept.line is None:
        return tr("no entry says how it left")
    fact = kept.line.entry.fact
    if not isinstance(fact, CheckpointGiven):
        return tr("in a record")
    return tr(WAYS.get(fact.way, later("given")))


def _key_row(key: KeyInUse) -> KeyRow:
    if key.until is None:
        told = later("In force: it signs from entry {first} on.")
        told = later("In force: it signs from the first entry on.") if key.since == 1 else told
        return KeyRow(in_fours(fingerprint(key.public)), tr(told, first=key.since))
    told = tr("Signed entries {first} to {last}.", first=key.since, last=key.until)
    return KeyRow(in_fours(fingerprint(key.public)), told)


@router.post("/projects/{project_id}/checkpoints")
def keep_one(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    def act() -> str:
        size = signing.keep_checkpoint(desk, person.id, project_id)
        return f"/projects/{project_id}/checkpoints/{size}"

    return send_once(request, desk, person.id, form, act)


@router.get("/projects/{project_id}/checkpoints/{size}")
def checkpoint_page(desk: TheDesk, person: Signed, project_id: str, size: Size) -> HTMLResponse:
    view = one_checkpoint(desk, person.id, project_id, size)
    shell = shell_of(view.seen.project, view.seen.role, person)
    return HTMLResponse(render("inspector/checkpoint.html", _page(view), **shell))


def _page(view: OneKept) -> CheckpointPage:
    kept, root = view.kept, f"/projects/{view.seen.project.id}"
    sound = not view.faults and kept.key is not None
    return CheckpointPage(
        root=root,
        size=kept.size,
        covers=trn("{n} entry", "{n} entries", kept.size),
        faults=view.faults,
        facts=_facts(view),
        root_hash=in_fours(kept.checkpoint.root.hex()) if kept.checkpoint else "",
        fingerprint=in_fours(fingerprint(kept.key)) if kept.key else "",
        note=kept.note,
        qr=view.qr,
        download_href=f"{root}/checkpoints/{kept.size}/checkpoint.txt",
        given_href=f"{root}/history/{kept.size}" if kept.line else "",
        stamp_href=f"{root}/checkpoints/{kept.size}/timestamp" if kept.stamped else "",
        steps=checkpoint_steps(kept.note, kept.key, file_of(kept.size)) if sound and kept.key else (),
    )


def _facts(view: OneKept) -> tuple[tuple[str, ...], ...]:
    kept, zone_time = view.kept, view.seen.project.time_zone
    rows: list[tuple[str, ...]] = [(tr("Covers"), tr("Entries 1 to {last}", last=kept.size))]
    if kept.line:
        entry = kept.line.entry
        rows.append((trc("checkpoint", "Left"), moment(entry.at, zone_time), how_it_left(kept)))
        rows.append((tr("By"), kept.line.who, tr(entry.role)))
    rows += [(tr("Timestamped"), moment(at, zone_time), tr("by an authority outside")) for at in kept.stamped]
    return tuple(rows)


@router.get("/projects/{project_id}/checkpoints/{size}/checkpoint.txt")
def download(desk: TheDesk, person: Signed, project_id: str, size: Size) -> Response:
    """The signed note's bytes and nothing else."""
    _, note = signing.kept_checkpoint(desk, person.id, project_id, size)
    return text_file(note, file_of(size))


@router.get("/projects/{project_id}/checkpoints/{size}/since/{old}.txt")
def growth_file(desk: TheDesk, person: Signed, project_id: str, size: Size, old: Size) -> Response:
    """The proof that this checkpoint begins with the first `old` entries."""
    try:
        made = growth(desk, person.id, project_id, old, size)
    except BadProof as bad:
        told = tr(
            "What is kept of the history's tree does not prove it: the tree was changed where it is kept."
        )
        raise Conflict(told, code="tree-does-not-fit") from bad
    return text_file(made.text, f"only-grew-{old}-to-{size}.txt")


def file_of(size: int) -> str:
    return f"checkpoint-{size}.txt"


def text_file(text: str, name: str) -> Response:
    """A text as a file to be kept, byte for byte."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(text.encode(), media_type="text/plain; charset=utf-8", headers=headers)
