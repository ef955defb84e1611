"""Hold a checkpoint that somebody kept against the history, entry by entry as it is now. Changes nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from sqlmodel import Session

from service.actions.evidence.audit import Line, line_of
from service.actions.evidence.checkpoints import growth_to, keys_in_use
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.history.facts.entries import read_entry
from service.history.proofs.checkpoints import origin_of
from service.history.proofs.growth import Growth
from service.history.proofs.kept_check import (
    TREE,
    Known,
    Point,
    Verdict,
    check,
    compare,
    own_hashes,
    plain,
    roots_at,
    size_in,
)
from service.history.proofs.merkle import BadProof, leaf_hash
from service.storage.history import raw, trees
from service.storage.history.seen import SeenProject, names_in, project_seen_by

MISSING = "is missing from where the history is kept"


@dataclass(frozen=True, slots=True)
class Checked:
    """`first`: the first entry that does not fit, as it is told now, where it is known and can be read.
    `growth`: the proof up to the newest checkpoint that left, where it covers more than the old one."""

    seen: SeenProject
    verdict: Verdict
    first: Line | None
    growth: Growth | None


@dataclass(slots=True)
class _Own:
    """The history hashed anew from its bytes: what was worked out once is what somebody may have changed.
    `odd`: the first entry that is not what was recorded, and what is wrong with it."""

    session: Session
    project_id: str
    size: int = 0
    odd: dict[int, str] = field(default_factory=dict)

    def leaves(self) -> Iterator[bytes]:
        for seq, content, kept in raw.each(self.session, self.project_id):
            self.size += 1
            leaf = leaf_hash(content)
            if not self.odd and seq != self.size:
                self.odd[self.size] = MISSING
            elif not self.odd and leaf != kept:
                self.odd[seq] = "is not what the hash kept beside it was made of"
            yield leaf


def check_old(desk: Desk, by: str, project_id: str, text: str, theirs: Sequence[bytes] = ()) -> Checked:
    """What an old checkpoint says of the history. `text`: the signed note; `theirs`: leaf hashes of an old
    record, entry 1 first, by which the first entry that does not fit is found."""
    text = plain(text)
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        kept = tuple(trees.kept(session, project_id))
        keys = tuple(key.public for key in keys_in_use(session, seen))
        own = _Own(session, project_id)
        ours = list(own.leaves())
        if not own.odd and own.size < seen.head:
            own.odd[own.size + 1] = MISSING
        size = size_in(text)
        roots = roots_at(ours, {size or 0, *(size for size, _ in kept)})
        known = Known(origin_of(project_id), own.size, keys, kept, roots.__getitem__)
        verdict = compare(own_hashes(check(text, known), own.odd), theirs, ours)
        verdict, growth = _growth(session, project_id, verdict, kept)
        return Checked(seen, verdict, _first(session, seen, verdict), growth)


def _growth(
    session: Session, project_id: str, verdict: Verdict, kept: Sequence[tuple[int, str]]
) -> tuple[Verdict, Growth | None]:
    """The proof to the newest checkpoint that left; told as a fault where it does not prove it."""
    old, newest = verdict.checkpoint, kept[-1][0] if kept else 0
    if old is None or not verdict.fits or newest <= old.size:
        return verdict, None
    try:
        made = growth_to(session, project_id, old.size, newest)
        made.check(old.root)
    except (BadProof, KeyError):
        told = "What is kept of the history's tree does not prove it: the tree was changed where it is kept."
        return verdict.and_also(Point(TREE, False, told)), None
    return verdict, made


def _first(session: Session, seen: SeenProject, verdict: Verdict) -> Line | None:
    if verdict.first is None:
        return None
    found = raw.entry_or_none(session, seen.project.id, verdict.first)
    if found is None:
        return None
    try:
        entry = read_entry(found[0])
        return line_of(entry, leaf_hash(found[0]), names_in(session, seen.project.id), seen)
    except (ValueError, KeyError, TypeError):
        return None  # its bytes are no entry any more
