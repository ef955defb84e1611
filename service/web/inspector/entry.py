"""One entry: its sentence, bytes and hash, its proof against the newest checkpoint that left, its name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Path
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.entry_proof import (
    CLOSED,
    ERASED,
    OPENS,
    UNTOLD,
    EntryView,
    NameTold,
    entry_bytes,
    entry_proof,
    entry_view,
)
from service.domain.words.speech import later, tr, trn
from service.history.certificate.proof import side_words
from service.history.proofs.by_hand import Step, entry_file, entry_steps, proof_file
from service.history.proofs.checkpoints import fingerprint, in_fours
from service.history.proofs.tlog_proof import sides
from service.web.forms.sending import new_key
from service.web.inspector.checkpoints import text_file
from service.web.inspector.words import kind_words, stood_of, thing_of
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)
Seq = Annotated[int, Path(ge=1, le=10**15)]
PAGE = "/projects/{project_id}/history/{seq}"
NAMED = {
    OPENS: later("The history tells the name by a salted hash only. The salt kept here opens it: {name}."),
    ERASED: later(
        "The name was erased, and its salt with it: the hash opens to nobody any more. The rest stays."
    ),
    UNTOLD: later("An earlier program wrote this entry and told no name."),
    CLOSED: later("No salt is kept here that opens this hash, though nobody erased the name."),
}


@dataclass(frozen=True, slots=True)
class HashRow:
    side: str
    hex: str


@dataclass(frozen=True, slots=True)
class ProofShown:
    """The proof against one checkpoint: `path` from the leaf up, the steps by hand, the file."""

    covers: str
    checkpoint_href: str
    given: str
    root_hash: str
    key: str
    path: tuple[HashRow, ...]
    steps: tuple[Step, ...]
    href: str


@dataclass(frozen=True, slots=True)
class EntryPage:
    """`templates/inspector/entry.html`. `proof` is None where no checkpoint covers the entry, or it does not
    fit (`faults` say so). `links`: pairs (address, words)."""

    root: str
    seq: int
    words: str
    facts: tuple[tuple[str, ...], ...]
    links: tuple[tuple[str, str], ...]
    content: str
    bytes_href: str
    leaf: str
    name: str
    name_sha256: str
    faults: tuple[str, ...]
    proof: ProofShown | None
    holds: str
    request_key: str
    earlier_href: str
    later_href: str
    history_href: str


@router.get(PAGE)
def entry_page(desk: TheDesk, person: Signed, project_id: str, seq: Seq) -> HTMLResponse:
    view = entry_view(desk, person.id, project_id, seq)
    shell = shell_of(view.seen.project, view.seen.role, person)
    return HTMLResponse(render("inspector/entry.html", _page(view), **shell))


def _page(view: EntryView) -> EntryPage:
    line, root = view.line, f"/projects/{view.seen.project.id}"
    entry, here = line.entry, f"{root}/history/{line.entry.seq}"
    href, words = thing_of(entry)
    links = [(href, words)] if href else []
    proof = _shown(view, here) if view.proof and not view.faults else None
    return EntryPage(
        root=root,
        seq=entry.seq,
        words=line.sentence,
        facts=(
            (tr("By"), line.who, tr(entry.role)),
            (tr("When"), moment(entry.at, view.seen.project.time_zone)),
            (tr("What"), kind_words(entry.type)),
        ),
        links=(*links, (stood_of(entry), tr("As it left things"))),
        content=view.content.decode("utf-8", "replace"),
        bytes_href=f"{here}/entry.json",
        leaf=in_fours(line.hash),
        name=_name(view.named) if view.named else "",
        name_sha256=in_fours(view.named.name_sha256) if view.named else "",
        faults=view.faults,
        proof=proof,
        holds=tr(
            "Entry {seq} stands in the history of the checkpoint of {entries}.",
            seq=entry.seq,
            entries=proof.covers,
        )
        if proof
        else "",
        request_key=new_key(),
        earlier_href=f"{root}/history/{entry.seq - 1}" if entry.seq > 1 else "",
        later_href=f"{root}/history/{entry.seq + 1}" if entry.seq < view.seen.head else "",
        history_href=f"{root}/history?before={entry.seq + 1}",
    )


def _name(named: NameTold) -> str:
    return tr(NAMED[named.stands], name=named.name)


def _shown(view: EntryView, here: str) -> ProofShown:
    proof, kept = view.proof, view.kept
    assert proof and kept and kept.checkpoint and kept.line and kept.key, "a proof without a fault has all"
    given = f"{moment(kept.line.entry.at, view.seen.project.time_zone)}, {kept.line.who}"
    stand = sides(proof.index, kept.size)
    return ProofShown(
        covers=trn("{n} entry", "{n} entries", kept.size),
        checkpoint_href=f"/projects/{view.seen.project.id}/checkpoints/{kept.size}",
        given=given,
        root_hash=in_fours(kept.checkpoint.root.hex()),
        key=in_fours(fingerprint(kept.key)),
        path=tuple(
            HashRow(side_words(side), one.hex()) for side, one in zip(stand, proof.hashes, strict=True)
        ),
        steps=entry_steps(proof, kept.checkpoint, kept.key),
        href=f"{here}/proof",
    )


@router.get(PAGE + "/proof")
def proof_download(desk: TheDesk, person: Signed, project_id: str, seq: Seq) -> Response:
    """The proof as one file, the entry's bytes in it."""
    return text_file(entry_proof(desk, person.id, project_id, seq).text, proof_file(seq))


@router.get(PAGE + "/entry.json")
def bytes_download(desk: TheDesk, person: Signed, project_id: str, seq: Seq) -> Response:
    """The entry's bytes and nothing else: what is hashed."""
    headers = {"Content-Disposition": f'attachment; filename="{entry_file(seq)}"'}
    content = entry_bytes(desk, person.id, project_id, seq)
    return Response(content, media_type="application/json", headers=headers)
