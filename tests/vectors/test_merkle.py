"""The Merkle tree against published values.

Roots and sample proofs: transparency-dev/merkle, commit 417fb0c3, testonly/constants.go and rfc6962_test.go
(the well-known leaves of Certificate Transparency). Probes: the same commit's testdata, 98 of inclusion
and 98 of consistency, most of which must be refused; kept beside the project, skipped where it is missing.
"""

from __future__ import annotations

import base64
import json
import random
from pathlib import Path
from typing import Any

import pytest

from service.history.proofs.merkle import (
    EMPTY_ROOT,
    BadProof,
    Tree,
    bagged,
    check_consistency,
    check_inclusion,
    grown,
    leaf_hash,
    node_hash,
    root_of,
)

PROBES = Path(__file__).parents[3] / "shared" / "data" / "vectors" / "merkle"
LEAVES = tuple(
    bytes.fromhex(leaf)
    for leaf in (
        "", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f",
    )
)  # fmt: skip
ROOTS = (
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)
INCLUSION_5_OF_8 = (
    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
)
CONSISTENCY_6_TO_8 = (
    "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
)
CONSISTENCY_2_TO_5 = (
    "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
)


def tree_of(count: int) -> Tree:
    return Tree(leaf_hash(leaf) for leaf in LEAVES[:count])


def hexes(proof: list[bytes]) -> tuple[str, ...]:
    return tuple(here.hex() for here in proof)


@pytest.mark.parametrize("size", range(9))
def test_a_tree_of_the_published_leaves_has_the_published_root(size: int) -> None:
    assert tree_of(size).root().hex() == ROOTS[size]
    assert tree_of(8).root(size).hex() == ROOTS[size]
    assert root_of(leaf_hash(leaf) for leaf in LEAVES[:size]).hex() == ROOTS[size]


def test_leaf_and_node_hashes_are_the_published_ones() -> None:
    leaf = "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    node = "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"
    assert leaf_hash(b"L123456").hex() == leaf
    assert node_hash(b"N123", b"N456").hex() == node
    assert EMPTY_ROOT.hex() == ROOTS[0]


def test_proofs_are_the_published_ones() -> None:
    tree = tree_of(8)
    assert hexes(tree.inclusion(5)) == INCLUSION_5_OF_8
    assert hexes(tree.inclusion(2, 3)) == (ROOTS[2],)
    assert hexes(tree.consistency(6)) == CONSISTENCY_6_TO_8
    assert hexes(tree.consistency(2, 5)) == CONSISTENCY_2_TO_5


def _raw(text: str | None) -> bytes:
    return base64.b64decode(text or "")


def _refused(kind: str, probe: dict[str, Any]) -> bool:
    proof = [_raw(here) for here in probe["proof"] or []]
    try:
        if kind == "inclusion":
            leaf, root = _raw(probe["leafHash"]), _raw(probe["root"])
            check_inclusion(probe["leafIdx"], probe["treeSize"], leaf, proof, root)
        else:
            roots = _raw(probe["root1"]), _raw(probe["root2"])
            check_consistency(probe["size1"], probe["size2"], *roots, proof)
    except BadProof:
        return True
    return False


@pytest.mark.parametrize("kind", ["inclusion", "consistency"])
def test_every_published_probe_is_judged_as_it_says(kind: str) -> None:
    probes = [json.loads(path.read_text()) for path in sorted((PROBES / kind).rglob("*.json"))]
    if not probes:
        pytest.skip("the published probes are not beside the project")
    wrong = [probe["desc"] for probe in probes if _refused(kind, probe) != probe["wantErr"]]
    assert (len(probes), sum(probe["wantErr"] for probe in probes)) == (98, 92)
    assert wrong == []


def test_every_proof_of_every_tree_up_to_65_leaves_is_accepted_and_no_other() -> None:
    leaves = [leaf_hash(str(place).encode()) for place in range(65)]
    whole = Tree(leaves)
    for size in range(1, 66):
        root = whole.root(size)
        for index in range(size):
            proof = whole.inclusion(index, size)
            check_inclusion(index, size, leaves[index], proof, root)
            with pytest.raises(BadProof):
                check_inclusion((index + 1) % (size + 1), size, leaves[index], proof, root)
        for old in range(1, size + 1):
            check_consistency(old, size, whole.root(old), root, whole.consistency(old, size))
            with pytest.raises(BadProof):
                check_consistency(old, size, leaf_hash(b"another"), root, whole.consistency(old, size))


def test_no_bit_of_a_proof_can_be_changed() -> None:
    chance = random.Random(20261125)
    leaves = [leaf_hash(str(place).encode()) for place in range(37)]
    tree = Tree(leaves)

    def refused(claim: str, place: int, proof: list[bytes]) -> bool:
        try:
            if claim == "inclusion":
                check_inclusion(place, 37, leaves[place], proof, tree.root())
            else:
                check_consistency(place, 37, tree.root(place), tree.root(), proof)
        except BadProof:
            return True
        return False

    for _ in range(400):
        claim, place = chance.choice(("inclusion", "consistency")), chance.randrange(1, 37)
        proof = tree.inclusion(place) if claim == "inclusion" else tree.consistency(place)
        changed = [bytearray(here) for here in proof]
        changed[chance.randrange(len(proof))][chance.randrange(32)] ^= 1 << chance.randrange(8)
        assert not refused(claim, place, proof)
        assert refused(claim, place, [bytes(here) for here in changed])
        assert refused(claim, place, proof[:-1])
        assert refused(claim, place, [*proof, proof[-1]])


def test_growing_leaf_by_leaf_makes_each_complete_subtree_once() -> None:
    made: dict[tuple[int, int], bytes] = {}
    peaks: list[bytes] = []
    leaves = [leaf_hash(str(place).encode()) for place in range(100)]
    for size, leaf in enumerate(leaves):
        peaks, new = grown(peaks, size, leaf)
        assert not made.keys() & dict(new).keys()
        made |= dict(new)
        assert len(peaks) == bin(size + 1).count("1")
        assert bagged(peaks) == root_of(leaves[: size + 1])
    assert made.keys() == {(level, place) for level in range(1, 7) for place in range(100 >> level)}
