"""The record: what it holds, what it can prove, who took one before; and taking it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from fastapi import APIRouter
from starlette.background import BackgroundTask
from starlette.responses import HTMLResponse, Response, StreamingResponse

from service.actions.record.record import Record, RecordView, make_record, record_view
from service.domain.words.speech import later, tr, trn
from service.history.proofs.checkpoints import in_fours
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

PIECE = 256 * 1024
HONESTY = later(
    "A record is evidence against later change by anyone, provided one checkpoint left our hands before the "
    "change. Whoever holds the service and its key can write a whole history anew and sign it: only a "
    "checkpoint, a certificate on paper or a timestamp kept from before shows that. Every record carries a "
    "checkpoint: keep it."
)
MOST_TAKEN = 20


@dataclass(frozen=True, slots=True)
class TakenRow:
    """A record that left: the number of its entry, who took it and when, and how much it tells."""

    seq: int
    who: str
    when: str
    tells: str
    href: str


@dataclass(frozen=True, slots=True)
class RecordPage:
    """`templates/inspector/record.html`. `holds`: pairs (what, words); `older`: records taken that are not
    listed, in words."""

    root: str
    size: str
    holds: tuple[tuple[str, str], ...]
    fingerprint: str
    honesty: str
    taken: tuple[TakenRow, ...]
    older: str
    repeated: str


@router.get("/projects/{project_id}/record")
def record_page(desk: TheDesk, person: Signed, project_id: str) -> Response:
    view = record_view(desk, person.id, project_id)
    shell = shell_of(view.seen.project, view.seen.role, person)
    return HTMLResponse(render("inspector/record.html", page_of(view), **shell))


@router.post("/projects/{project_id}/record")
def take_record(desk: TheDesk, person: Signed, project_id: str) -> Response:
    """The ZIP. Sent again with nothing done since, it gives the same bytes and adds nothing."""
    return handed_out(make_record(desk, person.id, project_id))


def handed_out(made: Record) -> StreamingResponse:
    """A record on its way, piece by piece, under its own name."""
    headers = {
        "Content-Disposition": f'attachment; filename="{made.name}"',
        "Content-Length": str(made.size),
        "Cache-Control": "private, no-store",
    }
    done = BackgroundTask(made.file.close)
    return StreamingResponse(
        _pieces(made.file), media_type="application/zip", headers=headers, background=done
    )


def _pieces(file: BinaryIO) -> Iterator[bytes]:
    with file:
        while piece := file.read(PIECE):
            yield piece


def page_of(view: RecordView) -> RecordPage:
    root, zone_time = f"/projects/{view.seen.project.id}", view.seen.project.time_zone
    rows = tuple(
        TakenRow(
            seq=one.seq,
            who=one.who,
            when=moment(one.at, zone_time),
            tells=tr("tells entries 1 to {last}", last=f"{one.up_to:,}"),
            href=f"{root}/history/{one.seq}",
        )
        for one in view.taken[:MOST_TAKEN]
    )
    older = len(view.taken) - len(rows)
    return RecordPage(
        root=root,
        size=_size(view.picture_bytes),
        holds=_holds(view),
        fingerprint=in_fours(view.fingerprint),
        honesty=tr(HONESTY),
        taken=rows,
        older=trn(
            "And {n} record before these; the history has them all.",
            "And {n} records before these; the history has them all.",
            older,
        )
        if older
        else "",
        repeated=_repeated(view),
    )


def _repeated(view: RecordView) -> str:
    if view.taken and view.taken[0].seq == view.seen.head:
        return tr(
            "Nothing happened since the newest record: taking it again gives the same file and adds no entry."
        )
    return tr(
        "Taking a record is itself an entry of the history, and the checkpoint in the record covers it."
    )


def _holds(view: RecordView) -> tuple[tuple[str, str], ...]:
    entries = trn("{n} entry", "{n} entries", view.seen.head)
    earlier = trn("{n} earlier one", "{n} earlier ones", view.checkpoints)
    certificates = trn("{n} certificate", "{n} certificates", view.releases)
    photos = trn("{n} photo", "{n} photos", view.photos)
    sketches = trn("{n} sketch", "{n} sketches", view.sketches)
    stamps = trn("{n} timestamp", "{n} timestamps", view.stamps) if view.stamps else tr("none was asked for")
    return (
        (tr("History"), tr("{entries}, as the exact bytes that are signed for", entries=entries)),
        (tr("Proof"), tr("the checkpoint, {earlier}, every key, and verify.py, which proves all of it with "
                         "no network", earlier=earlier)),
        (tr("Papers"), tr("the closeout, and {certificates} of releases", certificates=certificates)),
        (tr("Tables"),
         tr("marks, patches, seals, seams, lots, looks, releases and people, for any spreadsheet")),
        (tr("Pictures"), tr("{photos} and {sketches} by hash", photos=photos, sketches=sketches)),
        (tr("Timestamps"), stamps),
        (tr("To read"), tr("index.html, which opens in any browser from disk")),
    )  # fmt: skip


def _size(picture_bytes: int) -> str:
    """Pictures weigh what they weigh; all else is a few megabytes at most."""
    if picture_bytes < 10**6:
        return tr("Less than 1 MB of pictures, and about as much of papers and tables.")
    return tr(
        "About {n} MB of pictures, and a few MB of papers and tables.", n=f"{-(-picture_bytes // 10**6):,}"
    )
