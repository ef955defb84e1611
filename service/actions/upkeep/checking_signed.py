"""Hold what is kept of a history's tree, its checkpoints and its names against the entries themselves."""

from __future__ import annotations

from sqlmodel import Session

from service.history.facts.entries import Entry
from service.history.facts.evidence import CheckpointGiven, RecordMade
from service.history.facts.facts import PersonJoined
from service.history.proofs.checkpoints import Checkpoint, checkpoint_in, key_of, origin_of, public_key
from service.history.proofs.merkle import Tree, nodes_of
from service.history.proofs.notes import BadNote, read_note, signed_by
from service.storage.history import ledger, naming, trees


def signed_faults(session: Session, project_id: str, entries: list[Entry]) -> list[str]:
    """A sentence for everything signed or hashed that does not fit the entries."""
    tree = Tree(leaf for _, _, leaf in ledger.leaves(session, project_id))
    return [
        *_tree(session, project_id, tree),
        *_head(session, project_id, tree),
        *_kept(session, project_id, tree, entries),
        *_names(session, project_id, entries),
    ]


def _tree(session: Session, project_id: str, tree: Tree) -> list[str]:
    stored = ledger.tree_nodes(session, project_id)
    wanted = {
        (level, place): tree.node((level, place))
        for level in range(1, len(tree).bit_length())
        for place in range(len(tree) >> level)
    }
    wrong = sum(stored.get(node) != here for node, here in wanted.items()) + len(
        stored.keys() - wanted.keys()
    )
    return [f"its tree has {wrong} nodes that its entries do not give."] if wrong else []


def _head(session: Session, project_id: str, tree: Tree) -> list[str]:
    head = ledger.head_row(session, project_id)
    peaks = b"".join(tree.node(node) for node in nodes_of((0, len(tree))))
    faults = [] if head.peaks == peaks else ["its head's tree is not the tree of its entries."]
    if head.note is None or head.key is None:
        return faults  # an earlier program wrote it, and nothing was added since
    return faults + _note(project_id, len(tree), tree, head.note, head.key, "its head's checkpoint")


def _kept(session: Session, project_id: str, tree: Tree, entries: list[Entry]) -> list[str]:
    keys = {e.seq: e.fact.key for e in entries if isinstance(e.fact, CheckpointGiven | RecordMade)}
    kept = dict(trees.kept(session, project_id))
    faults = [
        f"the checkpoint of entry {seq} left, and is not kept." for seq in sorted(keys.keys() - kept.keys())
    ]
    faults += [
        f"a checkpoint of {size} entries is kept that no entry gave."
        for size in sorted(kept.keys() - keys.keys())
    ]
    for size in sorted(kept.keys() & keys.keys()):
        faults += _note(project_id, size, tree, kept[size], keys[size], f"the checkpoint of entry {size}")
    return faults


def _note(project_id: str, size: int, tree: Tree, note: str, key: str, what: str) -> list[str]:
    try:
        told = checkpoint_in(note)
        signed = signed_by(read_note(note), [key_of(project_id, public_key(key))])
    except (BadNote, ValueError) as bad:
        return [f"{what} cannot be trusted: {bad}."]
    if size > len(tree):
        return [f"{what} covers more entries than there are."]
    if told != Checkpoint(origin_of(project_id), size, tree.root(size)):
        return [f"{what} is not of its entries."]
    return [] if signed else [f"{what} is not signed with the key that its entry names."]


def _names(session: Session, project_id: str, entries: list[Entry]) -> list[str]:
    told = {
        (e.fact.person, e.fact.name_sha256)
        for e in entries
        if isinstance(e.fact, PersonJoined) and e.fact.name_sha256
    }
    faults = []
    for one in naming.namings(session, project_id):
        if naming.name_hash(one.salt, one.name) != one.name_sha256:
            faults.append(f"the name kept for person {one.person} does not open its hash.")
        if (one.person, one.name_sha256) not in told:
            faults.append(f"a name is kept for person {one.person} that the history never told.")
    return faults
