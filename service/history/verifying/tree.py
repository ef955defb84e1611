"""The tree over the entries as they are here: its root at any size, and which entries were changed."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence

from service.history.proofs.merkle import HASH_BYTES, bagged, nodes_of
from service.history.verifying.findings import Finding, fails, named, runs
from service.history.verifying.lines import History


class Roots:
    """Every complete subtree over these leaves, built level by level."""

    def __init__(self, leaves: Sequence[bytes]) -> None:
        sha256, level = hashlib.sha256, list(leaves)
        self._levels = [level]
        while len(level) > 1:
            pairs = zip(level[::2], level[1::2], strict=False)
            level = [sha256(b"\x01" + left + right).digest() for left, right in pairs]
            self._levels.append(level)

    @property
    def size(self) -> int:
        return len(self._levels[0])

    def at(self, size: int) -> bytes | None:
        """The root of the first so many leaves; None where there are not so many."""
        if not 0 <= size <= self.size:
            return None
        return bagged([self._levels[level][place] for level, place in nodes_of((0, size))])


def read_leaves(content: bytes) -> list[bytes] | None:
    """The hashes of leaves.txt, one a line in hex; None when it is not that."""
    lines = content.split(b"\n")
    try:
        found = [bytes.fromhex(line.decode()) for line in lines[:-1]]
    except ValueError:
        return None
    fits = not lines[-1] and all(len(leaf) == HASH_BYTES for leaf in found)
    return found if fits and b"".join(leaf.hex().encode() + b"\n" for leaf in found) == content else None


def changed(history: History, leaves: Sequence[bytes]) -> Iterator[Finding]:
    """The entries that are not what leaves.txt says they were, by their own numbers."""
    seen: set[int] = set()
    for seq, leaf in zip(history.seqs, history.leaves, strict=True):
        if seq is not None and seq <= len(leaves) and leaf != leaves[seq - 1]:
            seen.add(seq)
    for first, last in runs(sorted(seen)):
        was = "was changed: its hash is" if first == last else "were changed: their hashes are"
        yield fails("entry-changed", f"{named(first, last)} {was} not what leaves.txt says.")


def narrowed(roots: Roots, earlier: Sequence[tuple[int, bytes]]) -> tuple[int, int]:
    """Between which entries the first change lies, from the checkpoints (size and root) that left before.

    `earlier`: in any order. Up to the largest that fits nothing was changed.
    """
    fits = [size for size, root in earlier if roots.at(size) == root]
    low = max(fits, default=0)
    high = min((size for size, root in earlier if size > low and roots.at(size) != root), default=roots.size)
    return low + 1, min(high, roots.size)
