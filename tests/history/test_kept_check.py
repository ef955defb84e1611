"""Old checkpoints held against forged histories: each fault is named for what it is, and never another one.

The trees stand in memory and are worked out by recursion from RFC 9162 (tests/history/rfc9162.py); the keys
are those of RFC 8032 section 7.1.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.history.proofs import kept_check
from service.history.proofs.checkpoints import Checkpoint, checkpoint_in, origin_of
from service.history.proofs.growth import Growth, read_growth
from service.history.proofs.kept_check import Known, Verdict, check, compare, own_hashes, plain
from service.history.proofs.merkle import BadProof, Tree, leaf_hash
from service.history.proofs.notes import BadNote, Signer
from tests.history import rfc9162


def signer(secret: str) -> Signer:
    return Signer.of(Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret)))


OURS = signer("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
OTHER = signer("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
ORIGIN = origin_of("shed")
ENTRIES = [f'{{"seq":{seq}}}'.encode() for seq in range(1, 41)]
OLD = 21


def note(entries: Sequence[bytes], by: Signer = OURS, origin: str = ORIGIN, size: int | None = None) -> str:
    """A signed checkpoint over entries; `size` makes it lie about how many there are."""
    told = Checkpoint(origin, len(entries) if size is None else size, rfc9162.root(entries))
    return told.signed([by])


def known(
    entries: Sequence[bytes], kept: Sequence[tuple[int, str]] = (), keys: Sequence[Signer] = (OURS,)
) -> Known:
    def root_at(size: int) -> bytes:
        assert size <= len(entries), "nobody asks past the end"
        return rfc9162.root(entries[:size])

    return Known(ORIGIN, len(entries), tuple(key.public for key in keys), tuple(kept), root_at)


def kept_of(entries: Sequence[bytes], *sizes: int) -> list[tuple[int, str]]:
    return [(size, note(entries[:size])) for size in sizes]


def codes(verdict: Verdict) -> list[str]:
    return [point.code for point in verdict.points]


def leaves(entries: Sequence[bytes]) -> list[bytes]:
    return [rfc9162.leaf(entry) for entry in entries]


MINE = note(ENTRIES[:OLD])
REWRITTEN = [*ENTRIES[:13], b'{"seq":14,"never":true}', *ENTRIES[14:]]


# --- what holds ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", range(1, len(ENTRIES) + 1))
def test_a_history_that_only_grew_holds_at_every_size(size: int) -> None:
    verdict = check(note(ENTRIES[:size]), known(ENTRIES))
    assert verdict.holds and verdict.fits
    assert codes(verdict) == ["signed", "same" if size == len(ENTRIES) else "grew"]
    assert f"{size} entries" in verdict.points[1].words and "40" in verdict.points[1].words


def test_a_checkpoint_signed_by_a_key_of_before_still_holds() -> None:
    by_both = Checkpoint(ORIGIN, OLD, rfc9162.root(ENTRIES[:OLD])).signed([OTHER, OURS])
    history = known(ENTRIES, keys=(OTHER, OURS))
    assert check(note(ENTRIES[:OLD], OTHER), history).holds
    assert check(by_both, history).holds
    assert check(by_both, known(ENTRIES)).holds, "a signature of a key nobody knows says nothing either way"


def test_a_text_that_went_through_mail_and_a_form_is_read_as_it_was() -> None:
    for sent in (MINE.replace("\n", "\r\n"), f"\ufeff{MINE}", f"\n\n  {MINE}\n\n", MINE.rstrip("\n")):
        assert check(plain(sent), known(ENTRIES)).holds


# --- what does not, each for what it is ------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    ["", "\n", "hello\n", MINE.partition("\n\n")[0] + "\n", MINE.replace("\n21\n", "\n021\n"), "\x00\n"],
)
def test_what_is_no_signed_note_is_told_so_and_nothing_else(text: str) -> None:
    verdict = check(plain(text), known(ENTRIES))
    assert codes(verdict) == ["no-checkpoint"] and not verdict.holds and verdict.checkpoint is None


def test_a_checkpoint_of_another_project_is_told_by_its_name() -> None:
    verdict = check(note(ENTRIES[:OLD], origin=origin_of("barn")), known(ENTRIES))
    assert codes(verdict) == ["other-project"] and not verdict.holds
    assert "laptight/barn" in verdict.points[0].words and "laptight/shed" in verdict.points[0].words


def test_every_flipped_bit_of_a_signature_is_told_and_proves_nothing_against_the_history() -> None:
    """The 64 bytes of the signature; a flip in the 4 before them makes it another key's."""
    head, _, coded = MINE.rstrip("\n").rpartition(" ")
    raw = base64.b64decode(coded)
    for bit in range(8 * len(raw)):
        spoilt = bytearray(raw)
        spoilt[bit // 8] ^= 1 << bit % 8
        verdict = check(f"{head} {base64.b64encode(spoilt).decode()}\n", known(ENTRIES))
        wanted = "unknown-key" if bit < 32 else "signature-does-not-fit"
        assert codes(verdict) == [wanted, "root-fits"], bit
        assert not verdict.holds and not verdict.fits


def test_another_size_or_root_in_the_text_is_a_signature_that_does_not_fit() -> None:
    root = base64.b64encode(rfc9162.root(ENTRIES[:OLD])).decode()
    for spoilt in (
        MINE.replace("\n21\n", "\n12\n"),
        MINE.replace("\n21\n", "\n41\n"),
        MINE.replace(root, base64.b64encode(rfc9162.root(ENTRIES[:3])).decode()),
        MINE.replace("\n\n", "\nmore\n\n", 1),
    ):
        verdict = check(spoilt, known(ENTRIES))
        assert codes(verdict)[0] == "signature-does-not-fit" and not verdict.holds
        assert not {"history-cut", "history-rewritten"} & verdict.codes, "a changed note says nothing of us"


def test_a_history_signed_anew_with_another_key_is_told_as_that() -> None:
    verdict = check(MINE, known(REWRITTEN, keys=(OTHER,)))
    assert codes(verdict) == ["unknown-key", "no-weight"] and not verdict.holds
    assert "written anew" in verdict.points[0].words and "fingerprint" in verdict.points[1].words


@pytest.mark.parametrize("left", [0, 1, 12, OLD - 1])
def test_a_history_whose_tail_is_gone_is_told_as_cut(left: int) -> None:
    verdict = check(MINE, known(ENTRIES[:left]))
    assert codes(verdict) == ["signed", "history-cut"] and not verdict.holds
    gone = "Entry 21 is gone" if left == OLD - 1 else f"Entries {left + 1} to 21 are gone"
    assert gone in verdict.points[1].words


@pytest.mark.parametrize("place", range(OLD))
def test_any_entry_changed_under_a_checkpoint_is_a_history_rewritten(place: int) -> None:
    forged = [*ENTRIES[:place], ENTRIES[place] + b" ", *ENTRIES[place + 1 :]]
    verdict = check(MINE, known(forged))
    assert codes(verdict) == ["signed", "history-rewritten"] and not verdict.holds


def test_entries_swapped_doubled_or_left_out_are_a_history_rewritten() -> None:
    for forged in (
        [*ENTRIES[:4], ENTRIES[5], ENTRIES[4], *ENTRIES[6:]],
        [*ENTRIES[:4], ENTRIES[4], *ENTRIES[4:]],
        [*ENTRIES[:4], *ENTRIES[5:]],
    ):
        assert codes(check(MINE, known(forged))) == ["signed", "history-rewritten"]


def test_an_entry_changed_after_the_checkpoint_is_none_of_its_business() -> None:
    forged = [*ENTRIES[:30], b"{}", *ENTRIES[31:]]
    assert check(MINE, known(forged)).holds


def test_a_size_that_we_signed_a_lie_about_is_cut_or_rewritten() -> None:
    assert codes(check(note(ENTRIES, size=41), known(ENTRIES))) == ["signed", "history-cut"]
    assert codes(check(note(ENTRIES[:OLD], size=22), known(ENTRIES))) == ["signed", "history-rewritten"]
    assert codes(check(note([], size=0), known(ENTRIES))) == ["signed", "covers-nothing"]


# --- the checkpoints kept here narrow it ------------------------------------------------------------------


def test_the_kept_checkpoints_say_between_which_entries_it_lies() -> None:
    """Entry 14 was rewritten; those of 5 and 11 still fit, those of 17, 21 and 30 do not."""
    verdict = check(MINE, known(REWRITTEN, kept_of(ENTRIES, 5, 11, 17, OLD, 30)))
    assert verdict.between == (12, 17)
    assert codes(verdict) == ["signed", "history-rewritten", "kept-do-not-fit"]
    assert "3 do not fit" in verdict.points[2].words and "covers 17 entries" in verdict.points[2].words


def test_without_one_that_fits_it_begins_at_the_first_and_ends_at_the_checkpoint() -> None:
    assert check(MINE, known(REWRITTEN)).between == (1, OLD)
    assert check(MINE, known(REWRITTEN, kept_of(ENTRIES, 30))).between == (1, OLD)


def test_kept_checkpoints_that_were_made_anew_narrow_nothing() -> None:
    verdict = check(MINE, known(REWRITTEN, kept_of(REWRITTEN, 5, 17, OLD)))
    assert verdict.between is None
    assert "two histories were signed" in verdict.points[-1].words


def test_a_kept_checkpoint_that_does_not_fit_is_told_even_where_mine_does() -> None:
    forged = [*ENTRIES[:30], b"{}", *ENTRIES[31:]]
    verdict = check(MINE, known(forged, kept_of(ENTRIES, 17, 35)))
    assert verdict.fits and not verdict.holds and codes(verdict)[-1] == "kept-do-not-fit"


@pytest.mark.parametrize(
    "spoilt", ["", "x", note(ENTRIES[:17], OTHER), note(ENTRIES[:16]), note(REWRITTEN[:17])]
)
def test_a_kept_note_that_was_changed_is_told(spoilt: str) -> None:
    verdict = check(MINE, known(ENTRIES, [(17, spoilt)]))
    assert codes(verdict)[-1] == "kept-do-not-fit"
    assert codes(check(MINE, known(ENTRIES, kept_of(ENTRIES, 17)))) == ["signed", "grew", "kept-fit"]


# --- an old record names the entry ------------------------------------------------------------------------


@pytest.mark.parametrize("place", [0, 12, OLD - 1])
def test_with_an_old_record_the_first_entry_that_does_not_fit_is_named(place: int) -> None:
    forged = [*ENTRIES[:place], b"{}", *ENTRIES[place + 1 : 25], b"[]", *ENTRIES[26:]]
    verdict = compare(check(MINE, known(forged)), leaves(ENTRIES), leaves(forged))
    assert verdict.first == place + 1
    assert f"Entry {place + 1} is the first" in verdict.points[-1].words


def test_a_list_that_ends_before_its_checkpoint_still_names_the_entry() -> None:
    """As in a record: its list of leaves ends where its tables do, its checkpoint some entries after."""
    short = leaves(ENTRIES[: OLD - 2])
    verdict = compare(check(MINE, known(REWRITTEN)), short, leaves(REWRITTEN))
    assert verdict.first == 14 and codes(verdict)[-1] == "first-entry"


def test_a_list_that_ends_before_what_was_changed_says_that_it_comes_after() -> None:
    forged = [*ENTRIES[:20], b"{}", *ENTRIES[21:]]
    verdict = compare(check(MINE, known(forged)), leaves(ENTRIES[:19]), leaves(forged))
    assert verdict.first is None and verdict.between == (20, 21)
    assert codes(verdict)[-1] == "other-entries"
    both = [*ENTRIES[:3], b"{}", *ENTRIES[4:20], b"{}", *ENTRIES[21:]]
    named = compare(check(MINE, known(both)), leaves(ENTRIES[:19]), leaves(both))
    assert named.first == 4 and "nothing shows that it is of it" in named.points[-1].words


def test_where_the_tail_is_gone_the_first_that_is_gone_is_named() -> None:
    verdict = compare(check(MINE, known(ENTRIES[:12])), leaves(ENTRIES), leaves(ENTRIES[:12]))
    assert verdict.first == 13 and verdict.points[-1].words == "Entry 13 is the first that is gone."


def test_a_list_of_another_record_names_nothing() -> None:
    other = [leaf_hash(b"other"), *leaves(ENTRIES)[1:]]
    verdict = compare(check(MINE, known(REWRITTEN)), other, leaves(REWRITTEN))
    assert verdict.first is None and codes(verdict)[-1] == "other-entries"
    elsewhere = note(ENTRIES[:OLD], origin=origin_of("barn"))
    assert codes(compare(check(elsewhere, known(REWRITTEN)), leaves(ENTRIES), leaves(REWRITTEN))) == [
        "other-project"
    ]


def test_a_list_of_entries_that_all_fit_says_so() -> None:
    verdict = compare(check(MINE, known(ENTRIES)), leaves(ENTRIES), leaves(ENTRIES))
    assert verdict.holds and codes(verdict)[-1] == "entries-fit"


def test_an_entry_that_is_not_what_its_own_hash_was_made_of_is_named() -> None:
    verdict = own_hashes(check(MINE, known(REWRITTEN)), {14: "is not what it was"})
    assert verdict.first == 14 and codes(verdict)[-1] == kept_check.OWN_HASH
    assert own_hashes(check(MINE, known(ENTRIES)), {}).holds


# --- the proof that it only grew ---------------------------------------------------------------------------


@pytest.mark.parametrize("old", range(1, 18))
def test_the_proof_of_growth_holds_by_the_standard_s_own_definition(old: int) -> None:
    tree, newer = Tree(leaves(ENTRIES)), note(ENTRIES[:37])
    made = read_growth(Growth(old, tuple(tree.consistency(old, 37)), newer).text)
    was, now = rfc9162.root(ENTRIES[:old]), rfc9162.root(ENTRIES[:37])
    assert rfc9162.roots_by_proof(old, 37, made.hashes, was) == (was, now)
    assert made.check(was) == checkpoint_in(newer) and made.new == 37
    with pytest.raises(BadProof):
        made.check(rfc9162.root(REWRITTEN[:14]))
    with pytest.raises(BadProof):
        replace(made, hashes=made.hashes[:-1]).check(was)


def test_the_file_of_a_proof_of_growth_is_that_of_the_published_form() -> None:
    """Written by hand from C2SP tlog-witness, "add-checkpoint": old size, hashes, an empty line, the note."""
    newer = note(ENTRIES[:37])
    hashes = (bytes(32), bytes(range(32)))
    lines = "".join(f"{base64.b64encode(one).decode()}\n" for one in hashes)
    assert Growth(20, hashes, newer).text == f"old 20\n{lines}\n{newer}"


@pytest.mark.parametrize(
    "spoilt",
    [
        "",
        "old 020\n\n{}",
        "old -1\n\n{}",
        "new 20\n\n{}",
        "old 20\nAAAA\n\n{}",
        "old 20\n!\n\n{}",
        "old 20\n{}",
    ],
)
def test_a_spoilt_proof_of_growth_is_refused(spoilt: str) -> None:
    with pytest.raises((BadProof, BadNote)):
        read_growth(spoilt.replace("{}", note(ENTRIES[:37])))
