"""Each thing that can be wrong with a record is told for what it is: planted, found by code and words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from service.history.proofs.checkpoints import checkpoint_in, pem_of
from service.history.proofs.notes import sign_note
from service.history.verifying.records import CHECKPOINT, ENTRIES, KEYS, LEAVES, MANIFEST, NAMES, key_files
from tests.record.making import Files, Log, bundle, few_facts, signer
from tests.record.spoiling import (
    FIRST_PHOTO,
    SECOND_PHOTO,
    changed,
    edited,
    faults,
    fingerprint_of,
    found,
    true_files,
    with_lines,
)

Spoil = Callable[[Files], Files]


def test_a_true_record_is_told_whole_in_a_fixed_order() -> None:
    findings = found(true_files())
    assert [x.code for x in findings] == [
        "history", "checkpoint", "keys", "earlier", "manifest", "files", "leaves", "names", "no-anchor",
        "judged", "tables",
    ]  # fmt: skip
    assert all(x.holds for x in findings)
    judged = next(x.words for x in findings if x.code == "judged")
    assert "1 patch, 1 placing, 1 release, 1 repair, 1 seal, 4 sealed edges, 1 walked seam" in judged


# --- what an outsider can do to it -------------------------------------------------------------------------


@dataclass(frozen=True)
class Case:
    name: str
    spoil: Spoil
    code: str
    words: str

    def __str__(self) -> str:
        return self.name


def lines(change: Callable[[list[bytes]], object]) -> Spoil:
    return lambda files: with_lines(files, lambda of: void(change(of)))


def at(place: int, change: Callable[[bytes], bytes]) -> Spoil:
    """One line of the history changed."""
    return lines(lambda of: of.__setitem__(place, change(of[place])))


def void(_: object) -> None:
    return None


def swap(of: list[bytes], a: int, b: int) -> None:
    of[a], of[b] = of[b], of[a]


def without(name: str) -> Spoil:
    return lambda files: {path: content for path, content in files.items() if path != name}


def other(name: str, content: bytes) -> Spoil:
    return lambda files: {**files, name: content}


def resigned(files: Files) -> Files:
    """Every key in the files put in another's place, and each checkpoint signed with that one."""
    other_key = signer(9)
    kept = {name: content for name, content in files.items() if not name.startswith("keys")}
    for name in (CHECKPOINT, *(name for name in files if name.startswith("checkpoints/"))):
        kept[name] = checkpoint_in(files[name].decode()).signed([other_key]).encode()
    project = checkpoint_in(files[CHECKPOINT].decode()).origin.removeprefix("laptight/")
    return kept | {name: text.encode() for name, text in key_files(project, [other_key.public]).items()}


def spoilt_signature(files: Files) -> Files:
    """The same key's signature over something else."""
    text = files[CHECKPOINT].decode().rpartition("\n\n")[0] + "\n"
    signature = sign_note("something else\n", text.split("\n")[0], [signer(2)]).rpartition("\n\n")[2]
    return {**files, CHECKPOINT: f"{text}\n{signature}".encode()}


def older_checkpoint(files: Files) -> Files:
    return {**files, CHECKPOINT: files["checkpoints/43"]}


def of_another_project(files: Files) -> Files:
    return {**files, CHECKPOINT: bundle(Log(project="ffff0000ffff0000ffff").tell(*few_facts()))[CHECKPOINT]}


def exchanged(files: Files) -> Files:
    return {**files, FIRST_PHOTO: files[SECOND_PHOTO], SECOND_PHOTO: files[FIRST_PHOTO]}


TWICE = b'{"path": "leaves.txt", "sha256": "' + b"0" * 64 + b'", "bytes": 1},\n'
OUTSIDERS = [
    Case("a field edited", at(29, lambda line: edited(line, note="nothing")),
         "entry-changed", "Entry 30 was changed: its hash is not what leaves.txt says."),
    Case("a bit flipped in the text", changed(ENTRIES, b'"kind":"contamination"', b'"kind":"bontamination"'),
         "entry-changed", "was changed"),
    Case("an entry deleted", lines(lambda of: of.pop(29)), "entry-missing", "Entry 30 is missing."),
    Case("several deleted", lines(lambda of: of.__delitem__(slice(9, 12))), "entry-missing",
         "Entries 10 to 12 are missing."),
    Case("two swapped", lines(lambda of: swap(of, 19, 20)), "entry-swapped",
         "Entry 21 stands before entry 20: the order was changed."),
    Case("one doubled", lines(lambda of: of.insert(20, of[19])), "entry-doubled",
         "Entry 20 is there twice: in lines 20 and 21."),
    Case("the tail cut", lines(lambda of: of.__delitem__(slice(45, None))), "tail-cut",
         "The history ends after entry 45, and its checkpoint is of 48: 3 entries at its end cut off."),
    Case("cut in the middle of a line", lambda files: {**files, ENTRIES: files[ENTRIES][:-30]}, "tail-cut",
         "entries.jsonl breaks off in the middle of its line 48."),
    Case("one more at the end", lines(lambda of: of.append(of[-1].replace(b'"seq":48', b'"seq":49'))),
         "entry-added", "The history goes on to entry 49, and its checkpoint is of 48"),
    Case("no JSON", at(5, lambda line: b"{"), "not-an-entry",
         "Line 6 of entries.jsonl is no entry as this service writes them: it is no JSON."),
    Case("a fraction", at(5, lambda line: line.replace(b'"seq":6', b'"seq":6.0')),
         "not-an-entry", "it holds 6.0, and every number of an entry is whole"),
    Case("a field too many", at(5, lambda line: line.replace(b'{"at"', b'{"a":1,"at"')),
         "not-an-entry", "it has not the fields of one"),
    Case("written otherwise", at(5, lambda line: line.replace(b",", b", ", 1)),
         "not-canonical", "Line 6 of entries.jsonl is no entry as this service writes them: it is not"),
    Case("a name said twice", at(5, lambda line: line.replace(b'{"at"', b'{"v":1,"at"')),
         "not-canonical", "it is not in canonical form (RFC 8785)"),
    Case("a kind not known", at(4, lambda line: line.replace(b'"sketch-added"', b'"zone-flooded"')),
         "entry-not-known", 'this program does not know what "zone-flooded" is'),
    Case("entries of another project", at(5, lambda line: line.replace(b"a1b2c3", b"f1b2c3")),
         "other-project", "Entry 6 is of another project: f1b2c3d4e5f6a7b8c9d0."),
    Case("an entry's time turned back", at(30, lambda line: line.replace(b"12:00:", b"11:00:")),
         "time-order", "Entry 31 says it was written earlier than entry 30 before it."),
    Case("the checkpoint's root", changed(CHECKPOINT, b"\n48\n", b"\n47\n"), "checkpoint-does-not-fit",
         "The checkpoint is of 47 entries, and does not fit the 48 entries here"),
    Case("the checkpoint's signature", spoilt_signature, "signature",
         "The signature of The checkpoint does not fit it"),
    Case("an older checkpoint of this history", older_checkpoint, "checkpoint-does-not-fit",
         "The checkpoint fits the first 43 entries and the history has 48: it is an older one of"),
    Case("a checkpoint of another project", of_another_project, "checkpoint-other-project",
         "The checkpoint is of another project: laptight/ffff0000ffff0000ffff."),
    Case("no checkpoint at all", other(CHECKPOINT, b"nothing\n"), "checkpoint-unreadable",
         "The checkpoint cannot be read: "),
    Case("signed with another key, keys put in place", resigned, "other-key",
         "The checkpoint is signed with a key that the history does not name"),
    Case("an earlier checkpoint lost", without("checkpoints/43"), "earlier-missing",
         "Entry 43 says that a checkpoint left then, and checkpoints/43 is missing."),
    Case("an earlier checkpoint changed", changed("checkpoints/43", b"\n43\n", b"\n42\n"),
         "earlier-does-not-fit", "checkpoints/43 is no beginning of this history"),
    Case("an earlier checkpoint that is none", other("checkpoints/43", b"x"), "earlier-unreadable",
         "checkpoints/43 is no signed checkpoint"),
    Case("a checkpoint that nobody gave", lambda files: {**files, "checkpoints/40": files["checkpoints/43"]},
         "earlier-does-not-fit", "checkpoints/40 holds a checkpoint of 43 entries."),
    Case("a table changed", changed("defects.csv", b"B-01", b"B-77"), "file-changed",
         "defects.csv was changed: its bytes are not the ones listed."),
    Case("a table lost", without("defects.csv"), "file-missing", "defects.csv is listed in the"),
    Case("a file added", other("notes.txt", b"Trust me."), "file-not-listed",
         "notes.txt is in the record and not in its manifest: it was added."),
    Case("the manifest changed", changed(MANIFEST, b'"bytes": 1', b'"bytes": 2'), "manifest-not-logged",
         "manifest.json is not the one that entry 48 names: it was changed or put in its place."),
    Case("a file named twice", changed(MANIFEST, b'"files": [\n', b'"files": [\n  ' + TWICE),
         "file-named-twice", "manifest.json names leaves.txt twice."),
    Case("no manifest", without(MANIFEST), "file-missing", "manifest.json is missing"),
    Case("a manifest that is none", other(MANIFEST, b"{}"), "manifest-unreadable",
         "it is not written as one"),
    Case("a manifest that says things twice", changed(MANIFEST, b"{\n", b'{\n"record": 2,\n'),
         "manifest-unreadable", "manifest.json is no manifest: it says the same thing twice."),
    Case("a photo replaced", other(FIRST_PHOTO, b"another photo"), "photo-replaced",
         f"{FIRST_PHOTO} is another picture than the one that was logged: replaced."),
    Case("two photos exchanged", exchanged, "photo-replaced", f"It holds what belongs under {SECOND_PHOTO}."),
    Case("a photo lost", without(FIRST_PHOTO), "file-missing", f"{FIRST_PHOTO} is listed"),
    Case("keys.txt changed", other(KEYS, b"no key\n"), "key-file",
         "keys.txt does not hold what the history's entries name."),
    Case("a key's PEM changed", other(f"keys/{fingerprint_of(1)}.pem", pem_of(signer(9).public).encode()),
         "key-file", f"keys/{fingerprint_of(1)}.pem does not hold what the history's entries name."),
    Case("a key added", other(f"keys/{fingerprint_of(9)}.pem", pem_of(signer(9).public).encode()), "key-file",
         f"keys/{fingerprint_of(9)}.pem is a key that no entry of the history names."),
    Case("the hashes changed", changed(LEAVES, b"\n", b"0\n"), "leaves", "leaves.txt is no list of hashes."),
    Case("a hash changed", lambda files: {**files, LEAVES: b"0" * 64 + files[LEAVES][64:]}, "leaves",
         "leaves.txt does not tell the hash of entry 1."),
    Case("a name changed", changed(NAMES, b",lou,", b",lot,"), "name-does-not-open",
         "The name in names.csv of person lou does not open its hash."),
    Case("another person's hash", changed(NAMES, b"ina,ina", b"max,ina"), "name-not-told",
         "names.csv gives person max a hash that no entry tells."),
    Case("a state in the zones' table", changed("zones.csv", b",placed,", b",clear,"), "table",
         'zones.csv tells state of zb as "clear", and a replay of the entries as "placed".'),
    Case("a sentence in the history's table", changed("history.csv", b"overlap 6 in", b"overlap 9 in"),
         "table", "history.csv tells sentence of 25 as "),
    Case("nothing of a history", without(ENTRIES), "file-missing", "entries.jsonl is missing"),
]  # fmt: skip


@pytest.mark.parametrize("case", OUTSIDERS, ids=str)
def test_what_was_done_to_a_record_is_told_for_what_it_is(case: Case) -> None:
    told = faults(case.spoil(true_files()))
    assert case.code in told, told
    assert case.words in told[case.code], told[case.code]


def test_a_change_that_nothing_names_lies_between_two_checkpoints() -> None:
    """With leaves.txt gone, the earlier checkpoints still say where: 43 fits, 45 and 48 do not."""
    files = with_lines(
        without(LEAVES)(true_files()), lambda of: of.__setitem__(43, edited(of[43], statement="x"))
    )
    told = faults(files)["entry-changed"]
    assert told == "By its earlier checkpoints, one of the entries 44 to 45 or the checkpoint was changed."


def test_of_a_thousand_faults_of_a_kind_no_more_are_told_than_anybody_reads() -> None:
    files = true_files() | {f"more/{number}.txt": b"" for number in range(1000)}
    words = [x.words for x in found(files) if x.code == "file-not-listed"]
    assert len(words) == 21 and words[-1] == "And 980 more of this kind (file-not-listed)."


def test_a_history_that_is_not_whole_is_not_judged_and_says_so() -> None:
    told = faults(with_lines(true_files(), lambda of: void(of.pop(3))))
    assert "not-judged" in told
