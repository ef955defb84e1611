"""An old record's entries, read within limits: its forms say the same, and nothing hostile is unpacked."""

from __future__ import annotations

import io
import tracemalloc
import zipfile

import pytest

from service.actions.evidence import old_record
from service.actions.evidence.old_record import old_leaves, old_note
from service.domain.words.refusals import BadInput
from tests.history import rfc9162

ENTRIES = [b'{"seq":1}', '{"by":"Zoë","seq":2}'.encode(), b'{"seq":3}']
LEAVES = [rfc9162.leaf(entry) for entry in ENTRIES]
LINES = b"".join(entry + b"\n" for entry in ENTRIES)
HEXES = b"".join(f"{leaf.hex()}\n".encode() for leaf in LEAVES)


def zipped(*files: tuple[str, bytes], packed: int = zipfile.ZIP_DEFLATED) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", packed) as archive:
        for name, content in files:
            archive.writestr(name, content)
    return kept.getvalue()


RECORD = zipped(
    ("entries.jsonl", LINES),
    ("checkpoint", b"laptight/x\n"),
    ("leaves.txt", HEXES),
    ("photos/a.jpg", b"\xff"),
)


@pytest.mark.parametrize(
    "sent", [LINES, LINES.rstrip(b"\n"), LINES.replace(b"\n", b"\r\n"), HEXES, RECORD], ids=len
)
def test_every_form_of_a_record_gives_the_same_leaf_hashes(sent: bytes) -> None:
    assert old_leaves(io.BytesIO(sent)) == LEAVES


def test_a_record_gives_its_own_checkpoint_and_a_file_its_text() -> None:
    assert old_note(io.BytesIO(RECORD)) == ("laptight/x\n", LEAVES)
    assert old_note(io.BytesIO("— me\n".encode())) == ("— me\n", [])
    assert old_note(io.BytesIO(b"\xff\xfe"))[0] == "\ufffd\ufffd"
    assert len(old_note(io.BytesIO(b"x" * 10_000_000))[0]) == 64 * 1024 + 1, (
        "no more is read than a note may have"
    )


def test_a_record_whose_entries_are_too_many_bytes_is_read_by_its_list(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(old_record, "MOST_BYTES", len(HEXES))
    long = zipped(
        ("entries.jsonl", LINES + b'{"seq":4, "long":"' + b"x" * 500 + b'"}\n'), ("leaves.txt", HEXES)
    )
    assert old_leaves(io.BytesIO(long)) == LEAVES
    with pytest.raises(BadInput):
        old_leaves(io.BytesIO(zipped(("entries.jsonl", LINES + b"x" * 500))))


@pytest.mark.parametrize(
    "sent",
    {
        "nothing": b"",
        "another text": b"hello\n",
        "a picture": b"\x89PNG\r\n\x1a\n",
        "a hash cut short": HEXES[:63] + b"\n",
        "a hash too long": b"00" + HEXES,
        "an entry and then none": LINES + b"hello\n",
        "a ZIP of nothing": zipped(),
        "a ZIP that is no record": zipped(("a.txt", b"a")),
        "a ZIP cut short": RECORD[:-30],
        "a ZIP with a byte turned": RECORD.replace(b"laptight/x", b"laptight/y", 1)[:40]
        + b"\xff"
        + RECORD[41:],
        "a ZIP with something before": b"PK\x03\x04" + RECORD,
        "a ZIP packed otherwise": zipped(("entries.jsonl", LINES), packed=zipfile.ZIP_LZMA),
        "a path that climbs": zipped(("entries.jsonl", LINES), ("../evil", b"x")),
        "two of one name": zipped(("entries.jsonl", LINES), ("entries.jsonX", LINES)).replace(
            b"jsonX", b"jsonl"
        ),
    }.items(),
    ids=lambda row: row[0],
)
def test_what_is_no_record_is_refused_in_words(sent: tuple[str, bytes]) -> None:
    with pytest.raises(BadInput) as refused:
        old_leaves(io.BytesIO(sent[1]))
    assert set(refused.value.fields) == {"record"} and refused.value.message.endswith(".")
    if sent[1][:2] == b"PK":
        with pytest.raises(BadInput) as refused:
            old_note(io.BytesIO(sent[1]))
        assert set(refused.value.fields) == {"checkpoint"}


@pytest.mark.parametrize("inside", [b"\x00" * (40 * 1024 * 1024), b'{"a":"' + b"a" * (3 * 1024 * 1024)])
def test_a_bomb_is_refused_before_it_goes_off(inside: bytes) -> None:
    """40 MiB of zeros pack to 40 KiB; memory is measured while it is refused."""
    bomb = zipped(("entries.jsonl", inside))
    tracemalloc.start()
    with pytest.raises(BadInput):
        old_leaves(io.BytesIO(bomb))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 32 * 1024 * 1024


def test_more_entries_than_are_read_here_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(old_record, "MOST_ENTRIES", 2)
    with pytest.raises(BadInput, match="more than 2 entries"):
        old_leaves(io.BytesIO(HEXES))
    with pytest.raises(BadInput, match="longer line"):
        old_leaves(io.BytesIO(b'{"a":"' + b"x" * 1024 * 1024 + b'"}\n'))
