"""The history's Merkle tree (RFC 6962 section 2.1): hashes, what a proof is made of, and checking proofs.

A tree of n leaves is a row of complete subtrees, the largest first; `(level, index)` names one: it covers the
leaves index * 2**level up to (index + 1) * 2**level. Complete subtrees never change, so storage keeps them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence

HASH_BYTES = 32
EMPTY_ROOT = hashlib.sha256(b"").digest()
Node = tuple[int, int]
# The leaves [start, end) of a tree: a subtree that a proof names.
Part = tuple[int, int]


class BadProof(ValueError):
    """The proof does not show what it claims."""


def leaf_hash(content: bytes) -> bytes:
    """SHA-256 of 0x00 and the entry's bytes."""
    return hashlib.sha256(b"\x00" + content).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256 of 0x01 and two subtrees' hashes."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def root_of(leaves: Iterable[bytes]) -> bytes:
    """The root over leaf hashes in their order; the hash of nothing for none."""
    tree = Tree()
    for leaf in leaves:
        tree.add(leaf)
    return tree.root()


# --- growing ---------------------------------------------------------------------------------------------


def grown(peaks: Sequence[bytes], size: int, leaf: bytes) -> tuple[list[bytes], list[tuple[Node, bytes]]]:
    """The peaks of a tree of `size` leaves after one more, and the nodes above level 0 that this completes.

    Peaks are the hashes of the complete subtrees, the largest first: one for each 1 in `size` as binary.
    """
    kept, level, index, here, made = list(peaks), 0, size, leaf, []
    while index & 1:
        here = node_hash(kept.pop(), here)
        level, index = level + 1, index >> 1
        made.append(((level, index), here))
    return [*kept, here], made


def bagged(peaks: Sequence[bytes]) -> bytes:
    """The root over a row of complete subtrees, the largest first."""
    if not peaks:
        return EMPTY_ROOT
    here = peaks[-1]
    for peak in reversed(peaks[:-1]):
        here = node_hash(peak, here)
    return here


class Tree:
    """A tree held in memory with every complete subtree, for reading proofs off it at any size."""

    def __init__(self, leaves: Iterable[bytes] = ()) -> None:
        self._levels: list[list[bytes]] = [[]]
        self._peaks: list[bytes] = []
        for leaf in leaves:
            self.add(leaf)

    def __len__(self) -> int:
        return len(self._levels[0])

    def add(self, leaf: bytes) -> None:
        self._peaks, made = grown(self._peaks, len(self), leaf)
        self._levels[0].append(leaf)
        for (level, _), here in made:
            if level == len(self._levels):
                self._levels.append([])
            self._levels[level].append(here)

    def node(self, node: Node) -> bytes:
        level, index = node
        return self._levels[level][index]

    def root(self, size: int | None = None) -> bytes:
        """The root now, or when the tree had `size` leaves."""
        if size is None or size == len(self):
            return bagged(self._peaks)
        return bagged([self.node(node) for node in nodes_of((0, size))])

    def inclusion(self, index: int, size: int | None = None) -> list[bytes]:
        """The proof that leaf `index`, counted from 0, is in the tree of `size` leaves."""
        return hashed(inclusion_parts(index, len(self) if size is None else size), self.node)

    def consistency(self, old: int, new: int | None = None) -> list[bytes]:
        """The proof that the tree of `new` leaves begins with the one of `old`."""
        return hashed(consistency_parts(old, len(self) if new is None else new), self.node)


# --- what a proof is made of -----------------------------------------------------------------------------


def nodes_of(part: Part) -> Iterator[Node]:
    """The complete subtrees that cover a part, the largest first. The part starts where such a one may."""
    start, end = part
    while start < end:
        level = (end - start).bit_length() - 1
        yield level, start >> level
        start += 1 << level


def hashed(parts: Iterable[Part], node: Callable[[Node], bytes]) -> list[bytes]:
    """The hash of each part, from what hands out complete subtrees."""
    return [bagged([node(name) for name in nodes_of(part)]) for part in parts]


def _split(size: int) -> int:
    """The largest power of two below `size`."""
    return 1 << ((size - 1).bit_length() - 1)


def inclusion_parts(index: int, size: int) -> list[Part]:
    """PATH of RFC 6962 section 2.1.1, from the leaf up. ValueError when the leaf is not in the tree."""
    if not 0 <= index < size:
        raise ValueError(f"leaf {index} is not in a tree of {size}")
    start, end, parts = 0, size, []
    while end - start > 1:
        middle = start + _split(end - start)
        if index < middle:
            parts.append((middle, end))
            end = middle
        else:
            parts.append((start, middle))
            start = middle
    return parts[::-1]


def consistency_parts(old: int, new: int) -> list[Part]:
    """PROOF of RFC 6962 section 2.1.2. ValueError unless 0 < old <= new."""
    if not 0 < old <= new:
        raise ValueError(f"a tree of {new} does not grow from one of {old}")
    start, end, parts, whole = 0, new, [], True
    while old != end:
        middle = start + _split(end - start)
        if old <= middle:
            parts.append((middle, end))
            end = middle
        else:
            parts.append((start, middle))
            start, whole = middle, False
    return ([] if whole else [(start, end)]) + parts[::-1]


# --- checking (RFC 9162 sections 2.1.3.2 and 2.1.4.2) -----------------------------------------------------


def check_inclusion(index: int, size: int, leaf: bytes, proof: Sequence[bytes], root: bytes) -> None:
    """BadProof unless `proof` shows that `leaf` is leaf `index`, from 0, of the tree of this root."""
    if not 0 <= index < size:
        raise BadProof("the leaf lies outside the tree")
    if any(len(one) != HASH_BYTES for one in (leaf, root)):
        raise BadProof("a hash has 32 bytes")
    place, last, here = index, size - 1, leaf
    for other in proof:
        if last == 0:
            raise BadProof("the proof is too long")
        if place & 1 or place == last:
            here = node_hash(other, here)
            while place and not place & 1:
                place, last = place >> 1, last >> 1
        else:
            here = node_hash(here, other)
        place, last = place >> 1, last >> 1
    if last != 0:
        raise BadProof("the proof is too short")
    if here != root:
        raise BadProof("the proof leads to another root")


def check_consistency(old: int, new: int, old_root: bytes, new_root: bytes, proof: Sequence[bytes]) -> None:
    """BadProof unless `proof` shows that the tree of `new_root` begins with the one of `old_root`."""
    if not 0 < old <= new:
        raise BadProof("a tree grows from one that is smaller and not empty")
    if old == new:
        if proof or old_root != new_root:
            raise BadProof("two trees of one size are one tree, with nothing to prove")
        return
    _climb(old, new, old_root, new_root, proof if old & (old - 1) else [old_root, *proof])


def _climb(old: int, new: int, old_root: bytes, new_root: bytes, proof: Sequence[bytes]) -> None:
    if not proof:
        raise BadProof("the proof is too short")
    place, last = old - 1, new - 1
    while place & 1:
        place, last = place >> 1, last >> 1
    was = now = proof[0]
    for other in proof[1:]:
        if last == 0:
            raise BadProof("the proof is too long")
        if place & 1 or place == last:
            was, now = node_hash(other, was), node_hash(other, now)
            while place and not place & 1:
                place, last = place >> 1, last >> 1
        else:
            now = node_hash(now, other)
        place, last = place >> 1, last >> 1
    if last != 0:
        raise BadProof("the proof is too short")
    if was != old_root or now != new_root:
        raise BadProof("the proof leads to another root")
