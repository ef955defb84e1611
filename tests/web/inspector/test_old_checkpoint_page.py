"""An old checkpoint held against the real history, and against the same history with its database changed."""

from __future__ import annotations

import html
import io
import re
import zipfile

import httpx
import pytest

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.domain.nouns.site import Zone
from service.history.proofs.merkle import leaf_hash
from service.storage.history import books, ledger, trees
from tests.builders import a_mark, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf

Sent = dict[str, tuple[str, bytes, str]]


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/checkpoints/check"


def keep(desk: Desk, cast: Cast) -> str:
    """The note of a checkpoint kept now."""
    size = signing.keep_checkpoint(desk, cast.inspector.id, cast.project_id)
    return signing.kept_checkpoint(desk, cast.inspector.id, cast.project_id, size)[1]


def contents(desk: Desk, cast: Cast) -> list[bytes]:
    with desk.reading() as session:
        return [content for _, content, _ in ledger.leaves(session, cast.project_id)]


def file(name: str, content: bytes) -> Sent:
    return {name: ("a file", content, "application/octet-stream")}


def words(answer: httpx.Response) -> str:
    assert answer.status_code == 200, answer.text
    return html.unescape(re.sub(r"<[^>]+>", "", answer.text.partition("What it says")[2]))


def as_record(entries: list[bytes], note: str = "") -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("photos/x.jpg", b"\xff" * 1000)
        archive.writestr("entries.jsonl", b"".join(entry + b"\n" for entry in entries))
        if note:
            archive.writestr("checkpoint", note)
    return kept.getvalue()


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


@pytest.fixture
def note(desk: Desk, cast: Cast, zone: Zone) -> str:
    """Kept after a mark was made; two marks come after it."""
    a_mark(desk, cast, zone)
    told = keep(desk, cast)
    a_mark(desk, cast, zone, (500, 300))
    a_mark(desk, cast, zone, (600, 300))
    return told


def size_of(note: str) -> int:
    return int(note.split("\n")[1])


# --- what holds -------------------------------------------------------------------------------------------


def test_a_history_that_only_grew_says_so_and_gives_the_proof(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    client, old = page_of(cast.inspector), size_of(note)
    without = words(client.post(path(cast), data={"note": note}))
    assert f"The history only grew since: {old} entries then, {old + 2} now." in without
    assert "Keep a checkpoint, check again" in without and "Does not hold" not in without
    keep(desk, cast)
    answer = client.post(path(cast), files=file("checkpoint", note.encode()))
    assert f"The history only grew since: {old} entries then, {old + 3} now." in words(answer)
    href = f"/projects/{cast.project_id}/checkpoints/{old + 3}/since/{old}.txt"
    assert f'href="{href}"' in answer.text
    hashes = client.get(href).text.partition("\n\n")[0].split("\n")[1:]
    assert hashes and all(one in html.unescape(answer.text) for one in hashes)


def test_checking_changes_nothing(desk: Desk, cast: Cast, page_of: ClientOf, note: str) -> None:
    before = contents(desk, cast)
    client = page_of(cast.lead)
    client.post(path(cast), data={"note": note})
    client.get(path(cast))
    assert contents(desk, cast) == before
    with desk.reading() as session:
        assert [size for size, _ in trees.kept(session, cast.project_id)] == [size_of(note)]


def test_an_old_checkpoint_outlives_a_change_of_key(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    signing.rotate(desk)
    assert "Does not hold" not in words(page_of(cast.lead).post(path(cast), data={"note": note}))


def test_the_text_as_a_form_sends_it_is_read(cast: Cast, page_of: ClientOf, note: str) -> None:
    sent = "  \r\n" + note.replace("\n", "\r\n") + "\r\n "
    assert "only grew" in words(page_of(cast.lead).post(path(cast), data={"note": sent}))


def test_a_whole_record_brings_its_checkpoint_and_its_entries(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    record = as_record(contents(desk, cast)[: size_of(note)], note)
    told = words(page_of(cast.lead).post(path(cast), files=file("checkpoint", record)))
    assert (
        "only grew" in told and f"Each of the {size_of(note)} entries is the one of the old record." in told
    )


# --- what does not ----------------------------------------------------------------------------------------


def without_triggers(desk: Desk, *statements: tuple[str, dict[str, object]]) -> None:
    """What somebody does who has the database in hand."""
    with desk.database.engine.begin() as connection:
        names = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'").all()
        for (name,) in names:
            connection.exec_driver_sql(f'DROP TRIGGER "{name}"')
        for statement, values in statements:
            connection.exec_driver_sql(statement, values)


def rewrite(desk: Desk, cast: Cast, seq: int) -> None:
    """Change a word of an entry and work the whole history anew: leaves, tree."""
    project = cast.project_id
    entries = [
        content.replace(b'"tear"', b'"hole"') if place == seq else content
        for place, content in enumerate(contents(desk, cast), 1)
    ]
    without_triggers(
        desk,
        ("DELETE FROM tree_node WHERE project_id = :project", {"project": project}),
        *(
            (
                "UPDATE entry SET content = :content, leaf = :leaf WHERE project_id = :p AND seq = :seq",
                {"content": content, "leaf": leaf_hash(content), "p": project, "seq": place},
            )
            for place, content in enumerate(entries, 1)
        ),
    )
    with desk.writing() as session:
        trees.plant(session, books.lock_head(session, project))


def test_a_history_worked_anew_is_told_as_rewritten_and_narrowed(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    first = keep(desk, cast)
    a_mark(desk, cast, zone)
    second = keep(desk, cast)
    a_mark(desk, cast, zone, (500, 300))
    rewrite(desk, cast, size_of(first) + 1)
    client = page_of(cast.inspector)
    told = words(client.post(path(cast), data={"note": second}))
    mine = words(client.post(path(cast), data={"note": first}))
    assert "the history was rewritten after this checkpoint left" in told
    assert f"one of {size_of(first) + 1} to {size_of(second)}, unless they were changed as well" in told
    assert "only grew" in mine
    assert "Of 2 checkpoints kept here, 1 does not fit" in mine


@pytest.mark.parametrize("kind", ["zip", "entries.jsonl", "leaves.txt"])
def test_with_an_old_record_the_entry_is_named_with_its_sentence_of_now(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str, kind: str
) -> None:
    old = contents(desk, cast)[: size_of(note)]
    marked = next(seq for seq, content in enumerate(old, 1) if b'"tear"' in content)
    rewrite(desk, cast, marked)
    record = {
        "zip": as_record(old),
        "entries.jsonl": b"".join(entry + b"\n" for entry in old),
        "leaves.txt": b"".join(f"{leaf_hash(entry).hex()}\n".encode() for entry in old[:-1]),
    }[kind]
    answer = page_of(cast.inspector).post(path(cast), data={"note": note}, files=file("record", record))
    assert f"Entry {marked} is the first that is not the one of the old record." in words(answer)
    assert "Lou Lead marked B-01: hole, 4 by 2 in." in words(answer)
    assert f'href="/projects/{cast.project_id}/history/{marked}"' in answer.text


def test_one_entry_changed_where_it_is_kept_is_named_without_any_record(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    """The lazy forger changes the bytes and leaves hashes and tree as they were."""
    marked = next(seq for seq, one in enumerate(contents(desk, cast), 1) if b'"tear"' in one)
    forged = contents(desk, cast)[marked - 1].replace(b'"tear"', b'"hole"')
    change = "UPDATE entry SET content = :forged WHERE project_id = :p AND seq = :seq"
    without_triggers(desk, (change, {"forged": forged, "p": cast.project_id, "seq": marked}))
    told = words(page_of(cast.inspector).post(path(cast), data={"note": note}))
    assert f"Entry {marked} is not what the hash kept beside it was made of." in told
    assert "the history was rewritten" in told and "Lou Lead marked B-01: hole" in told


def test_a_tail_cut_off_is_told_as_cut(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    a_mark(desk, cast, zone)
    before = len(contents(desk, cast))
    a_mark(desk, cast, zone, (500, 300))
    note = keep(desk, cast)
    cut = {"p": cast.project_id, "size": before}
    without_triggers(
        desk,
        ("DELETE FROM checkpoint WHERE project_id = :p AND size > :size", cut),
        ("DELETE FROM entry WHERE project_id = :p AND seq > :size", cut),
        ("DELETE FROM tree_node WHERE project_id = :p", cut),
        ("UPDATE project SET seq = :size WHERE id = :p", cut),
    )
    with desk.writing() as session:
        trees.plant(session, books.lock_head(session, cast.project_id))
    told = words(page_of(cast.inspector).post(path(cast), data={"note": note}))
    assert f"It covers {before + 2} entries, and the history has {before}: it was cut." in told
    assert f"Entries {before + 1} to {before + 2} are gone." in told


def test_an_entry_taken_out_of_the_middle_is_told_as_missing(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    without_triggers(desk, ("DELETE FROM entry WHERE project_id = :p AND seq = 5", {"p": cast.project_id}))
    told = words(page_of(cast.inspector).post(path(cast), data={"note": note}))
    assert "Entry 5 is missing from where the history is kept." in told and "Does not hold" in told


def test_another_project_s_checkpoint_is_told_by_its_name(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    size = signing.keep_checkpoint(desk, cast.other_manager.id, cast.other_project_id)
    _, other = signing.kept_checkpoint(desk, cast.other_manager.id, cast.other_project_id, size)
    told = words(page_of(cast.inspector).post(path(cast), data={"note": other}))
    assert f"This is a checkpoint of laptight/{cast.other_project_id}." in told
    assert "another project" in told and "rewritten" not in told


def test_a_history_signed_anew_with_a_key_it_does_not_tell_is_told_so(
    desk: Desk, cast: Cast, page_of: ClientOf, note: str
) -> None:
    """The forger works everything anew and signs it with a key of his own, as if it had always been that."""
    marked = next(seq for seq, one in enumerate(contents(desk, cast), 1) if b'"tear"' in one)
    rewrite(desk, cast, marked)
    without_triggers(
        desk, ("DELETE FROM checkpoint", {}), ("DELETE FROM entry WHERE type = 'key-changed'", {})
    )
    desk.database.keys.rotate()
    key = desk.database.keys.current().public_text
    without_triggers(desk, ("UPDATE project SET key = :key", {"key": key}))
    told = words(page_of(cast.inspector).post(path(cast), data={"note": note}))
    assert "signed by a key that this history never used" in told
    assert "hold the key's fingerprint that was noted then against the one told now" in told


# --- what cannot be read ----------------------------------------------------------------------------------


NO_NOTES = (b"hello", b"\xff\xfe\x00", b"\x89PNG\r\n", b"a\n\nb\n")


def test_what_is_no_note_is_told_so(cast: Cast, page_of: ClientOf) -> None:
    client = page_of(cast.lead)
    for sent in NO_NOTES:
        assert "This is no checkpoint:" in words(client.post(path(cast), files=file("checkpoint", sent)))
    for sent, said in ((b"", "Choose the checkpoint"), (b"x" * 70_000, "longer than any checkpoint")):
        answer = client.post(path(cast), files=file("checkpoint", sent))
        assert answer.status_code == 422 and said in answer.text


def test_nothing_and_both_are_told_and_what_was_typed_stays(cast: Cast, page_of: ClientOf, note: str) -> None:
    client = page_of(cast.lead)
    nothing = client.post(path(cast))
    assert nothing.status_code == 422 and "Choose the checkpoint" in nothing.text
    both = client.post(path(cast), data={"note": "mine"}, files=file("checkpoint", note.encode()))
    assert both.status_code == 422 and "Give the file or the text, not both." in both.text
    assert "\nmine</textarea>" in both.text


def test_a_record_that_is_none_is_told_beside_its_field(cast: Cast, page_of: ClientOf, note: str) -> None:
    client = page_of(cast.lead)
    for record in (b"hello\n", b"PK\x03\x04 broken", b"00" * 31 + b"\n", as_record([])):
        answer = client.post(path(cast), data={"note": note}, files=file("record", record))
        assert answer.status_code == 422 and 'id="record-wrong"' in answer.text
        assert html.escape(note.split("\n")[0]) in answer.text, "what was typed stays"


def test_markup_in_what_is_sent_stays_text(cast: Cast, page_of: ClientOf) -> None:
    evil = f"<script>alert(1)</script>\n1\n{'A' * 43}=\n\n— <img> AAAAAAAA\n"
    answer = page_of(cast.lead).post(path(cast), data={"note": evil})
    assert answer.status_code == 200 and "<script>alert" not in answer.text and "<img>" not in answer.text
