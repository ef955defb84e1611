"""One entry with what shows that it stands where it stands: its bytes, its hash, its proof, its name."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from service.actions.evidence.audit import Line, line_of
from service.actions.evidence.checkpoints import Kept, is_signed, kept_newest
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.words.refusals import NotFound
from service.history.facts.entries import Entry, read_entry
from service.history.facts.evidence import NameErased
from service.history.facts.facts import PersonJoined
from service.history.proofs.merkle import BadProof, leaf_hash
from service.history.proofs.notes import BadNote
from service.history.proofs.tlog_proof import EntryProof
from service.storage.history import naming, raw, trees
from service.storage.history.seen import SeenProject, names_in, project_seen_by

# How a name told by its hash stands.
OPENS, ERASED, UNTOLD, CLOSED = "opens", "erased", "untold", "does not open"


@dataclass(frozen=True, slots=True)
class NameTold:
    """The hash of a name that the history tells, and how it stands; `name`: what it opens to."""

    name_sha256: str
    stands: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class EntryView:
    """`content`: the bytes that were hashed. `proof` leads from them to `kept`, the newest checkpoint that
    left; both are None where none covers the entry yet. `faults`: what does not fit, each a sentence."""

    seen: SeenProject
    line: Line
    content: bytes
    kept: Kept | None
    proof: EntryProof | None
    faults: tuple[str, ...]
    named: NameTold | None


def entry_view(desk: Desk, by: str, project_id: str, seq: int) -> EntryView:
    """An entry and its proof, held against each other. NotFound when the history has not come so far."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        content, recorded = raw.entry_bytes(session, project_id, seq)
        entry, names = read_entry(content), names_in(session, project_id)
        line = line_of(entry, leaf := leaf_hash(content), names, seen)
        kept = kept_newest(session, seen)
        named = _named(session, entry)
        covered = kept is not None and kept.size >= seq
        proof = _proof(session, project_id, seq, kept, content) if kept is not None and covered else None
    faults = [] if leaf == recorded else ["Its bytes are not what the hash kept beside it was made of."]
    if proof is not None and kept is not None:
        faults += _faults(project_id, proof, leaf, kept)
    return EntryView(seen, line, content, kept if proof else None, proof, tuple(faults), named)


def entry_proof(desk: Desk, by: str, project_id: str, seq: int) -> EntryProof:
    """The proof alone, to be handed out. NotFound where no checkpoint covers the entry or it does not fit."""
    view = entry_view(desk, by, project_id, seq)
    if view.proof is None or view.faults:
        raise NotFound
    return view.proof


def entry_bytes(desk: Desk, by: str, project_id: str, seq: int) -> bytes:
    """An entry's bytes as they are kept. NotFound when the history has not come so far."""
    with desk.reading() as session:
        allow(project_seen_by(session, by, project_id), "read the history")
        return raw.entry_bytes(session, project_id, seq)[0]


def _proof(session: Session, project_id: str, seq: int, kept: Kept, content: bytes) -> EntryProof:
    """The proof carries the entry's bytes along, so that one file shows everything."""
    path = trees.inclusion(session, project_id, seq, kept.size)
    return EntryProof(seq - 1, tuple(path), kept.note, content)


def _faults(project_id: str, proof: EntryProof, leaf: bytes, kept: Kept) -> list[str]:
    found = []
    try:
        proof.check(leaf)
    except (BadProof, BadNote):
        found.append(f"It does not lead to the checkpoint of {kept.size} entries that left.")
    if kept.key is None or not is_signed(project_id, kept.note, kept.key):
        found.append(f"The signature of the checkpoint of {kept.size} entries does not fit.")
    return found


def _named(session: Session, entry: Entry) -> NameTold | None:
    """How the name stands that an entry tells by its hash; None where the entry is of another kind."""
    if not isinstance(entry.fact, PersonJoined):
        return None
    person, told = entry.fact.person, entry.fact.name_sha256
    if not told:
        return NameTold("", UNTOLD)
    for one in naming.namings(session, entry.project):
        if one.person == person and one.name_sha256 == told:
            opens = naming.name_hash(one.salt, one.name) == told
            return NameTold(told, OPENS if opens else CLOSED, one.name if opens else "")
    erased = raw.of_project(session, entry.project, [NameErased.type])
    gone = any(isinstance(e.fact, NameErased) and e.fact.person == person for e, _ in erased)
    return NameTold(told, ERASED if gone else CLOSED)
