"""The certificate on paper: everything it must say, in the order it must say it, kept and heard."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.actions.closeout.certificates import Certified, History, certificates_of
from service.history.facts import facts as f
from service.history.facts.entries import leaf_hash
from service.history.facts.evidence import CheckpointGiven
from service.history.proofs.checkpoints import Checkpoint, fingerprint, origin_of
from service.history.proofs.merkle import Tree
from service.history.proofs.notes import Signer
from service.papers.certificate import folded
from tests.history.story import MANAGER, Story, mark, whole
from tests.papers.reading import (
    broken_rules,
    must_be_an_archive_that_can_be_heard,
    opened,
    printed_outline,
    tags,
    words,
)

NAMES = {"lou": "Lou Lead", "max": "Max Núñez", "ina": "Ina Inspector"}
SIGNER = Signer.of(Ed25519PrivateKey.from_private_bytes(bytes(32)))


def signed(story: Story, names: dict[str, str] = NAMES) -> History:
    """The story's entries as a history that was signed and whose checkpoints left where it says so."""
    contents = [entry.content() for entry in story.entries]
    leaves = [leaf_hash(content) for content in contents]
    tree = Tree(leaves)
    given = [entry.seq for entry in story.entries if isinstance(entry.fact, CheckpointGiven)]
    kept = [(n, Checkpoint(origin_of("p"), n, tree.root(n)).signed([SIGNER])) for n in given]
    return History(contents, leaves, names, kept)


def a_release() -> Story:
    return whole().release().tell(CheckpointGiven("certificate", SIGNER.public_text), who=MANAGER)


def told(story: Story) -> Certified:
    [found] = certificates_of(signed(story))
    return found


@pytest.fixture(scope="module")
def standing() -> tuple[Certified, bytes]:
    found = told(a_release())
    return found, found.pdf()


@pytest.fixture(scope="module")
def pulled_back() -> bytes:
    story = a_release().tell(mark("09", (500, 500)))
    story.tell(f.ReleasePulledBack("r1", "zb", "B", 'Rain; film lifted #image("/x") $y$'), who=MANAGER)
    return told(story).pdf()


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_it_is_an_archive_that_can_be_heard_and_breaks_no_rule(standing: tuple[Certified, bytes]) -> None:
    _, pdf = standing
    must_be_an_archive_that_can_be_heard(pdf, "Release certificate of zone B, Slab")
    assert broken_rules(pdf) == []
    assert [tag.alt for tag in tags(opened(pdf)) if tag.kind == "Figure"] == [
        "Zone B drawn true to scale, 1/16 in = 1 ft (1:192): 2 marks, 1 patch, 1 penetration, 1 seam, "
        "4 stretches of edge.",
        "QR code with the lines printed beside it",
    ]


def test_it_says_what_was_released_by_whom_under_which_numbers_and_what_mends_every_mark(
    standing: tuple[Certified, bytes],
) -> None:
    text = flat(words(standing[1]))
    for said in (
        "North bay, 4,800 sq ft",
        "Max Núñez, project manager",
        "Wed 25 Nov 2026, 12:00 pm",
        "Nothing: the gate asked for all that it can check.",
        "B-01 hole, 4 by 2 in: sealed, overlap 6 in",
        "sheet patch (left 6 in, right 6 in, near 6 in, far 6 in)",
        "clean the film; cleaned, dry",
        "1 penetration: 1 sealed",
        "1 seam: 1 walked and in order",
        "4 stretches of edge: 4 sealed",
        "ASTM E1643 section 8 (from memory, not verified)",
        "Nothing was withdrawn in this zone.",
        "Quality record, not engineering advice.",
        "does not replace the engineer of record",
    ):
        assert said in text, said


def test_it_carries_its_whole_proof(standing: tuple[Certified, bytes]) -> None:
    found, pdf = standing
    proven = found.told.proof
    assert proven is not None
    joined = re.sub(r"↩?\s+", "", words(pdf))
    for said in (
        found.told.digest,
        found.told.leaf,
        proven.checkpoint.root.hex(),
        fingerprint(proven.key),
        proven.proof.note,
        found.told.entry,
        *(line for line in proven.proof.text.splitlines()[3:7]),
    ):
        assert re.sub(r"\s+", "", said) in joined, said


def test_a_pulled_back_one_says_so_before_anything_else(pulled_back: bytes) -> None:
    text = flat(words(pulled_back))
    first = "PULLED BACK By Max Núñez, project manager, Wed 25 Nov 2026, 12:00 pm, entry 42: Rain"
    assert text.startswith(first)
    assert 'film lifted #image("/x") $y$' in text
    assert "entry 41: Lou Lead marked B-09" in text
    assert text.index("does not stand any more") < text.index("Release certificate of zone B")
    assert "PULLED BACK" in [tag.alt or "PULLED BACK" for tag in tags(opened(pulled_back))]
    assert broken_rules(pulled_back) == []


def test_the_same_history_gives_the_same_bytes_and_one_entry_more_is_told(
    standing: tuple[Certified, bytes],
) -> None:
    assert told(a_release()).pdf() == standing[1]
    later = told(a_release().tell(f.PersonLeft("lou"), who=MANAGER))
    assert later.told.since.up_to == standing[0].told.since.up_to + 1 and later.pdf() != standing[1]


def test_the_zone_is_printed_at_the_scale_it_says(standing: tuple[Certified, bytes]) -> None:
    """80 by 60 ft at 1/16 in to the foot: 5 by 3 3/4 in of paper, measured on the printed page."""
    found, pdf = standing
    assert found.drawing is not None and found.drawing.scale.words == "1/16 in = 1 ft (1:192)"
    assert printed_outline(pdf, 0, 127.0, 95.25) == pytest.approx((127.0, 95.25), abs=0.1)


def test_a_history_of_long_words_and_many_marks_is_still_set(standing: tuple[Certified, bytes]) -> None:
    found = standing[0]
    long = replace(found.told, statement="x" * 900, withdrawn=("y" * 400,) * 30)
    pdf = replace(found, told=long).pdf()
    assert "x" * 20 in words(pdf) and len(opened(pdf).pages) > len(opened(standing[1]).pages)


def test_long_lines_are_broken_with_a_sign_that_says_so() -> None:
    assert folded(["a" * 105, "", "b"]) == "a" * 104 + "↩\na\n\nb"
