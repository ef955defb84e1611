"""The history's Merkle tree on disk: grown with every entry, read for roots and proofs; kept checkpoints."""

from collections.abc import Iterable

from sqlalchemy import bindparam, text
from sqlmodel import Session, col, select

from service.domain.words.refusals import NotFound
from service.history.proofs.checkpoints import Checkpoint, origin_of
from service.history.proofs.merkle import (
    HASH_BYTES,
    Node,
    Part,
    bagged,
    consistency_parts,
    grown,
    hashed,
    inclusion_parts,
    nodes_of,
)
from service.history.proofs.notes import Signer
from service.storage.history import heads
from service.storage.history.heads import Head
from service.storage.tables.tables import CheckpointRow, EntryRow, ProjectRow, TreeNodeRow, table_of

_NODES = text(
    "SELECT level, place, hash FROM tree_node WHERE project_id = :project AND (level, place) IN :nodes "
    "UNION ALL SELECT 0, seq - 1, leaf FROM entry WHERE project_id = :project AND seq IN :seqs"
).bindparams(bindparam("nodes", expanding=True), bindparam("seqs", expanding=True))
NOWHERE = -1  # nothing is kept there: no list that is asked for is empty


_GROWN = table_of(TreeNodeRow).insert()


def grow(session: Session, head: Head, leaf: bytes, signers: list[Signer]) -> None:
    """One more leaf at the head: its `seq`, peaks and signed checkpoint move on. The head is not written."""
    peaks, made = grown(_split(head.peaks or b""), head.seq, leaf)
    _add_nodes(session, head, made)
    head.seq += 1
    head.peaks = b"".join(peaks)
    head.note = Checkpoint(origin_of(head.id), head.seq, bagged(peaks)).signed(signers)
    head.key = signers[-1].public_text


def _add_nodes(session: Session, head: Head, made: Iterable[tuple[Node, bytes]]) -> None:
    """A statement where there is one node, as after every second entry; none where there is none."""
    nodes = [
        {"project_id": head.id, "level": level, "place": place, "hash": here} for (level, place), here in made
    ]
    if nodes:
        session.connection().execute(_GROWN, nodes)


def plant(session: Session, head: Head) -> None:
    """The tree of a history that an earlier program wrote, from its leaves. Its head stays unsigned until the
    next entry: what is signed is signed in the transaction of an action."""
    leaves = session.exec(
        select(EntryRow.leaf).where(EntryRow.project_id == head.id).order_by(col(EntryRow.seq))
    )
    peaks: list[bytes] = []
    for size, leaf in enumerate(leaves):
        peaks, made = grown(peaks, size, leaf)
        _add_nodes(session, head, made)
    head.peaks = b"".join(peaks)
    heads.write(session, head)


def _split(peaks: bytes) -> list[bytes]:
    return [peaks[start : start + HASH_BYTES] for start in range(0, len(peaks), HASH_BYTES)]


# --- roots and proofs ------------------------------------------------------------------------------------


def root_at(session: Session, project_id: str, size: int) -> bytes:
    """The root when the history had `size` entries. NotFound when it has not come so far."""
    _within(session, project_id, size)
    return _hashed(session, project_id, [(0, size)])[0]


def inclusion(session: Session, project_id: str, seq: int, size: int) -> list[bytes]:
    """The proof that entry `seq`, counted from 1, is in the history of `size` entries.

    NotFound when there is no such entry or the history has not come so far.
    """
    _within(session, project_id, size)
    if not 1 <= seq <= size:
        raise NotFound
    return _hashed(session, project_id, inclusion_parts(seq - 1, size))


def consistency(session: Session, project_id: str, old: int, new: int) -> list[bytes]:
    """The proof that the history of `new` entries begins with that of `old`.

    NotFound unless 0 < old <= new.
    """
    _within(session, project_id, new)
    if not 0 < old <= new:
        raise NotFound
    return _hashed(session, project_id, consistency_parts(old, new))


def _within(session: Session, project_id: str, size: int) -> None:
    head = session.exec(select(ProjectRow.seq).where(ProjectRow.id == project_id)).first()
    if head is None or not 0 <= size <= head:
        raise NotFound


def _hashed(session: Session, project_id: str, parts: list[Part]) -> list[bytes]:
    found = _nodes(session, project_id, {node for part in parts for node in nodes_of(part)})
    return hashed(parts, found.__getitem__)


def _nodes(session: Session, project_id: str, wanted: Iterable[Node]) -> dict[Node, bytes]:
    """The hashes of complete subtrees, in one statement however many; a leaf is its entry's."""
    wanted = set(wanted)
    above = [node for node in wanted if node[0]] or [(NOWHERE, NOWHERE)]
    seqs = [place + 1 for level, place in wanted if level == 0] or [NOWHERE]
    asked = {"project": project_id, "nodes": above, "seqs": seqs}
    told = session.connection().execute(_NODES, asked) if wanted else ()
    return {(level, place): bytes(here) for level, place, here in told}


# --- checkpoints that left -------------------------------------------------------------------------------


def keep(session: Session, head: Head) -> None:
    """The head's checkpoint leaves the building: it is kept for ever."""
    assert head.note is not None, "a head with an entry has its checkpoint"
    session.add(CheckpointRow(project_id=head.id, size=head.seq, note=head.note))


def kept(
    session: Session, project_id: str, *, at_least: int = 0, up_to: int | None = None
) -> list[tuple[int, str]]:
    """Size and signed note of the checkpoints that left, the smallest first."""
    wanted = select(CheckpointRow.size, CheckpointRow.note).where(
        CheckpointRow.project_id == project_id, col(CheckpointRow.size) >= at_least
    )
    if up_to is not None:
        wanted = wanted.where(col(CheckpointRow.size) <= up_to)
    return [(size, note) for size, note in session.exec(wanted.order_by(col(CheckpointRow.size)))]


def first_covering(session: Session, project_id: str, seq: int) -> tuple[int, str] | None:
    """The smallest checkpoint that left and covers an entry."""
    wanted = (
        select(CheckpointRow.size, CheckpointRow.note)
        .where(CheckpointRow.project_id == project_id, col(CheckpointRow.size) >= seq)
        .order_by(col(CheckpointRow.size))
        .limit(1)
    )
    return session.exec(wanted).first()


def newest_kept(session: Session, project_id: str) -> tuple[int, str] | None:
    """The newest checkpoint that left."""
    wanted = (
        select(CheckpointRow.size, CheckpointRow.note)
        .where(CheckpointRow.project_id == project_id)
        .order_by(col(CheckpointRow.size).desc())
        .limit(1)
    )
    return session.exec(wanted).first()
