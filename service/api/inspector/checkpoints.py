"""Checkpoints, the proof of one entry, and old checkpoints held against the history, as JSON."""

from __future__ import annotations

import io
from typing import Annotated, Any

from fastapi import APIRouter, Path
from pydantic import Field
from starlette.responses import Response

from service.actions.evidence import checkpoints, signing
from service.actions.evidence.checkpoints import Kept, KeyInUse, OneKept
from service.actions.evidence.entry_proof import EntryView, NameTold, entry_view
from service.actions.evidence.old_checkpoint import Checked, check_old
from service.actions.evidence.old_record import old_leaves
from service.api.answers import proofs as out
from service.api.shared.bodies import Sent, example
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import marks as tell
from service.domain.words.refusals import BadInput
from service.history.facts.encoding import time_text
from service.history.proofs.checkpoints import fingerprint, key_of
from service.history.proofs.growth import Growth
from service.history.proofs.kept_check import Verdict
from service.history.proofs.tlog_proof import sides

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["history"])
Size = Annotated[int, Path(ge=0, le=2**53)]
Seq = Annotated[int, Path(ge=1, le=2**53)]


class NoFields(Sent):
    """Nothing needs to be sent."""

    model_config = example()


class OldNote(Sent):
    model_config = example(note="laptight/0123456789abcdef0123\n12\n...")
    note: str = Field(max_length=65_536, description="The signed note that was kept, all of it.")
    leaves: str = Field(
        default="",
        max_length=900_000,
        description="An old record's leaves.txt or entries.jsonl, to find the first entry that does not fit.",
    )


@router.post(
    "/projects/{project_id}/checkpoints",
    status_code=201,
    response_model=out.OneCheckpoint,
    responses=told(WRITES),
)
def keep_a_checkpoint(project_id: Id, call: Writes, body: NoFields | None = None) -> Response:
    """Keep a checkpoint of the history as it stands. Keeping one is itself an entry, unless the newest entry
    gave one already: then that one is told again."""

    def act() -> out.OneCheckpoint:
        return _one(call, project_id, signing.keep_checkpoint(call.desk, call.by, project_id))

    return call.once(201, act)


@router.get("/projects/{project_id}/checkpoints", responses=told(READS))
def checkpoints_of_a_project(project_id: Id, call: Reads) -> out.Checkpoints:
    """Every checkpoint that left the building, and every key that signs or signed the history."""
    view = checkpoints.kept_checkpoints(call.desk, call.by, project_id)
    return out.Checkpoints(
        checkpoints=[out.KeptCheckpoint(**_kept(kept)) for kept in view.kept],
        keys=[_key(project_id, key) for key in view.keys],
    )


@router.post(
    "/projects/{project_id}/checkpoints/check", response_model=out.OldCheckpoint, responses=told(WRITES)
)
def check_an_old_checkpoint(project_id: Id, body: OldNote, call: Writes) -> Response:
    """What a checkpoint that was kept says of the history as it is now, hashed anew entry by entry. Nothing
    is recorded; only an Idempotency-Key, if one is given, keeps the reply."""

    def checked() -> Checked:
        return check_old(call.desk, call.by, project_id, body.note, _leaves(body.leaves))

    return call.once_prepared(200, checked, _checked)


@router.get("/projects/{project_id}/checkpoints/{size}", responses=told(READS))
def one_checkpoint(project_id: Id, size: Size, call: Reads) -> out.OneCheckpoint:
    """A checkpoint that left, held against the tree kept with the history."""
    return _one(call, project_id, size)


@router.get("/projects/{project_id}/history/{seq}", responses=told(READS))
def one_entry(project_id: Id, seq: Seq, call: Reads) -> out.EntryWithProof:
    """One entry with its exact bytes, and its proof against the newest checkpoint that left."""
    view = entry_view(call.desk, call.by, project_id, seq)
    named = view.named
    return out.EntryWithProof(
        **tell.entry(view.line).model_dump(),
        content=view.content.decode("utf-8", "replace"),
        proof=_proof(view),
        faults=list(view.faults),
        name=_named(named) if named else None,
    )


def _named(named: NameTold) -> out.NameTold:
    return out.NameTold(name_sha256=named.name_sha256, stands=named.stands, name=named.name or None)


def _leaves(text: str) -> list[bytes]:
    if not text.strip():
        return []
    try:
        return old_leaves(io.BytesIO(text.encode()))
    except BadInput as bad:
        raise BadInput(bad.message, fields={"leaves": bad.message}) from None


def _one(call: Call, project_id: str, size: int) -> out.OneCheckpoint:
    view: OneKept = checkpoints.one_checkpoint(call.desk, call.by, project_id, size)
    return out.OneCheckpoint(**_kept(view.kept), holds=not view.faults, faults=list(view.faults))


def _kept(kept: Kept) -> dict[str, Any]:
    line = kept.line
    return {
        "size": kept.size,
        "note": kept.note,
        "root": kept.checkpoint.root.hex() if kept.checkpoint else None,
        "key_fingerprint": fingerprint(kept.key) if kept.key else None,
        "given": line and out.Given(
            by=line.who, by_id=line.entry.by, role=line.entry.role, at=time_text(line.entry.at),
            sentence=line.sentence,
        ),
        "timestamps": [time_text(at) for at in kept.stamped],
    }  # fmt: skip


def _key(project_id: str, key: KeyInUse) -> out.Key:
    vkey = str(key_of(project_id, key.public))
    return out.Key(fingerprint=fingerprint(key.public), vkey=vkey, since=key.since, until=key.until)


def _proof(view: EntryView) -> out.Proof | None:
    proof, kept = view.proof, view.kept
    if proof is None or kept is None or view.faults or kept.checkpoint is None or kept.key is None:
        return None
    return out.Proof(
        index=proof.index, size=kept.size, root=kept.checkpoint.root.hex(), note=kept.note,
        hashes=[one.hex() for one in proof.hashes], sides=sides(proof.index, kept.size),
        key_fingerprint=fingerprint(kept.key), text=proof.text,
    )  # fmt: skip


def _checked(checked: Checked) -> out.OldCheckpoint:
    verdict: Verdict = checked.verdict
    return out.OldCheckpoint(
        holds=verdict.holds,
        size=verdict.checkpoint.size if verdict.checkpoint else None,
        points=[out.Point(code=one.code, holds=one.holds, text=one.words) for one in verdict.points],
        first=verdict.first,
        entry=tell.entry(checked.first) if checked.first else None,
        between=list(verdict.between) if verdict.between and verdict.first is None else None,
        growth=_growth(checked.growth) if checked.growth else None,
    )


def _growth(made: Growth) -> out.Growth:
    hashes = [one.hex() for one in made.hashes]
    return out.Growth(old=made.old, new=made.new, hashes=hashes, note=made.note, text=made.text)
