"""Merkle trees as RFC 9162 section 2.1 defines them, by recursion, for checks that import nothing of ours.

A proof is taken apart by the same definition that puts it together (PATH in 2.1.3.1, SUBPROOF in 2.1.4.1),
and not by the loops that the standard gives to verifiers.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence


def leaf(entry: bytes) -> bytes:
    """MTH({d[0]}) = HASH(0x00 || d[0])"""
    return hashlib.sha256(b"\x00" + entry).digest()


def node(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\x01" + left + right).digest()


def split(n: int) -> int:
    """The largest power of two smaller than n (k < n <= 2k)."""
    k = 1
    while 2 * k < n:
        k *= 2
    return k


def root(entries: Sequence[bytes]) -> bytes:
    """MTH(D[n]) over the entries themselves."""
    if not entries:
        return hashlib.sha256(b"").digest()
    if len(entries) == 1:
        return leaf(entries[0])
    k = split(len(entries))
    return node(root(entries[:k]), root(entries[k:]))


def root_by_path(m: int, n: int, entry: bytes, path: Sequence[bytes]) -> bytes:
    """The root that a path leads to: PATH(m, D[n]) read backwards. IndexError when it is too short."""
    if n == 1:
        assert not path, "too long"
        return leaf(entry)
    k = split(n)
    if m < k:
        return node(root_by_path(m, k, entry, path[:-1]), path[-1])
    return node(path[-1], root_by_path(m - k, n - k, entry, path[:-1]))


def roots_by_proof(m: int, n: int, proof: Sequence[bytes], old: bytes) -> tuple[bytes, bytes]:
    """The old and the new root that a consistency proof leads to: SUBPROOF(m, D[n], true) read backwards.

    `old`: the old root, which the proof leaves out where the old tree is one whole subtree of the new.
    """

    def sub(m: int, n: int, proof: Sequence[bytes], whole: bool) -> tuple[bytes, bytes]:
        if m == n:
            assert len(proof) == (0 if whole else 1), "of another length"
            here = old if whole else proof[0]
            return here, here
        k = split(n)
        if m <= k:
            was, now = sub(m, k, proof[:-1], whole)
            return was, node(now, proof[-1])
        was, now = sub(m - k, n - k, proof[:-1], False)
        return node(proof[-1], was), node(proof[-1], now)

    return sub(m, n, proof, True)
