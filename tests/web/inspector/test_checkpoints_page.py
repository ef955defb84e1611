"""Checkpoints on pages: kept once, shown only when they left, downloaded as signed, and openssl says so."""

from __future__ import annotations

import base64
import html
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.sketches import zones
from service.history.facts.evidence import CheckpointGiven
from service.history.proofs.checkpoints import checkpoint_in, fingerprint, in_fours
from service.papers.setting.qr import qr_modules
from service.storage.history import books, ledger, trees
from service.web.inspector import checkpoints
from tests.builders import a_mark, a_release, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.history import rfc9162


def path(cast: Cast, rest: str = "") -> str:
    return f"/projects/{cast.project_id}/checkpoints{rest}"


def head(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def contents(desk: Desk, cast: Cast) -> list[bytes]:
    with desk.reading() as session:
        return [content for _, content, _ in ledger.leaves(session, cast.project_id)]


def kept(desk: Desk, cast: Cast) -> dict[int, str]:
    with desk.reading() as session:
        return dict(trees.kept(session, cast.project_id))


def pem_in(page: str) -> str:
    found = re.search(
        r"-----BEGIN PUBLIC KEY-----\n.*?\n-----END PUBLIC KEY-----\n", html.unescape(page), re.S
    )
    assert found
    return found[0]


def test_looking_keeps_nothing_and_shows_no_checkpoint_that_did_not_leave(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_zone(desk, cast)
    before = head(desk, cast)
    with desk.reading() as session:
        unseen = ledger.head_row(session, cast.project_id).note
    assert unseen is not None
    client = page_of(cast.inspector)
    page = client.get(path(cast)).text
    assert "No checkpoint left the building yet." in page
    assert unseen.split("\n")[2] not in page, "the head's root has not left"
    assert client.get(path(cast, f"/{before}")).status_code == 404
    assert client.get(path(cast, f"/{before}/checkpoint.txt")).status_code == 404
    assert head(desk, cast) == before


def test_a_checkpoint_is_kept_once_says_so_in_the_history_and_is_shown(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_zone(desk, cast)
    before, client = head(desk, cast), page_of(cast.inspector)
    sent = client.post(path(cast), data={"request_key": "k"})
    assert (sent.status_code, sent.headers["location"]) == (303, path(cast, f"/{before + 1}"))
    assert client.post(path(cast), data={"request_key": "k"}).headers["location"] == sent.headers["location"]
    assert client.post(path(cast), data={"request_key": "l"}).headers["location"] == sent.headers["location"]
    assert head(desk, cast) == before + 1, "the newest entry gave one already"
    with desk.reading() as session:
        [entry] = books.entries(session, cast.project_id, after=before)
    assert isinstance(entry.fact, CheckpointGiven) and entry.by == cast.inspector.id
    page = html.unescape(client.get(sent.headers["location"]).text)
    note = kept(desk, cast)[before + 1]
    assert note in page and "This checkpoint holds." in page
    assert in_fours(rfc9162.root(contents(desk, cast)).hex()) in page
    listed = client.get(path(cast)).text
    assert f'href="{path(cast, f"/{before + 1}")}"' in listed and "kept by hand" in listed
    assert "Ina Inspector, inspector" in listed


def test_every_role_may_keep_one_and_a_release_gives_one_too(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    a_mark(desk, cast, zone)
    for person in (cast.lead, cast.manager, cast.inspector):
        assert page_of(person).post(path(cast)).status_code == 303
    page = page_of(cast.lead).get(path(cast)).text
    assert "2 checkpoints left the building." in page and "on a certificate" in page
    assert "provided one checkpoint left our hands before the change" in page


def test_the_key_in_force_stands_there_whole_and_those_before_it_with_what_they_signed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    first = desk.database.keys.current().public
    a_zone(desk, cast)
    before = head(desk, cast)
    signing.rotate(desk)
    second = desk.database.keys.current().public
    page = page_of(cast.lead).get(path(cast)).text
    assert in_fours(fingerprint(first)) in page and in_fours(fingerprint(second)) in page
    assert f"Signed entries 1 to {before}." in page
    assert f"In force: it signs from entry {before + 1} on." in page
    assert page.index(in_fours(fingerprint(second))) < page.index(in_fours(fingerprint(first)))


@pytest.mark.skipif(not shutil.which("openssl"), reason="no openssl here")
def test_openssl_verifies_the_download_and_refuses_it_changed(
    desk: Desk, cast: Cast, page_of: ClientOf, tmp_path: Path
) -> None:
    """OpenSSL 3, `pkeyutl -verify -rawin`; the note is taken apart here, by the text of C2SP signed-note."""
    a_zone(desk, cast)
    client = page_of(cast.inspector)
    where = client.post(path(cast)).headers["location"]
    answer = client.get(f"{where}/checkpoint.txt")
    size = int(where.rpartition("/")[2])
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    assert answer.headers["content-disposition"] == f'attachment; filename="checkpoint-{size}.txt"'
    assert answer.content.decode() == kept(desk, cast)[size]
    text, below = answer.content.decode().split("\n\n")
    (tmp_path / "text").write_text(f"{text}\n")
    (tmp_path / "signature").write_bytes(base64.b64decode(below.split(" ")[2])[4:])
    (tmp_path / "key.pem").write_text(pem_in(client.get(where).text))

    def verify() -> subprocess.CompletedProcess[str]:
        command = "openssl pkeyutl -verify -pubin -inkey key.pem -rawin -in text -sigfile signature"
        return subprocess.run(command.split(), cwd=tmp_path, capture_output=True, text=True, check=False)

    assert "Signature Verified Successfully" in verify().stdout
    (tmp_path / "text").write_text(f"{text}\n".replace(f"\n{size}\n", f"\n{size - 1}\n"))
    assert verify().returncode != 0


def test_the_qr_code_is_the_note(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    client = page_of(cast.inspector)
    where = client.post(path(cast)).headers["location"]
    drawn, side = qr_modules(client.get(f"{where}/checkpoint.txt").content.decode())
    page = client.get(where).text
    assert f'd="{drawn}"' in page and f'viewBox="0 0 {side} {side}"' in page


def test_a_checkpoint_that_no_longer_fits_is_told_so(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    """Somebody with the database at hand takes the triggers off and puts another root among the tree's."""
    a_zone(desk, cast)
    client = page_of(cast.inspector)
    where = client.post(path(cast)).headers["location"]
    with desk.database.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER tree_node_no_update")
        connection.exec_driver_sql("UPDATE tree_node SET hash = zeroblob(32)")
    page = client.get(where).text
    assert "This checkpoint does not hold." in page
    assert "Its root is not that of the tree kept with the history." in page
    assert "Check it by hand" not in page


def test_the_proof_of_growth_leads_from_the_first_to_the_second(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    client = page_of(cast.inspector)
    old = int(client.post(path(cast)).headers["location"].rpartition("/")[2])
    a_mark(desk, cast, a_zone(desk, cast))
    new = int(client.post(path(cast)).headers["location"].rpartition("/")[2])
    text = client.get(path(cast, f"/{new}/since/{old}.txt")).text
    first, *hashes = text.partition("\n\n")[0].split("\n")
    assert first == f"old {old}" and text.partition("\n\n")[2] == kept(desk, cast)[new]
    told, entries = [base64.b64decode(one) for one in hashes], contents(desk, cast)
    was, now = rfc9162.root(entries[:old]), rfc9162.root(entries[:new])
    assert rfc9162.roots_by_proof(old, new, told, was) == (was, now)
    assert checkpoint_in(kept(desk, cast)[new]).root == now
    for nothing in (f"/{new}/since/0.txt", f"/{new}/since/{new + 1}.txt", f"/{new - 1}/since/{old}.txt"):
        assert client.get(path(cast, nothing)).status_code == 404


def test_older_checkpoints_follow_on(
    desk: Desk, cast: Cast, page_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checkpoints, "ROWS", 2)
    client, zone = page_of(cast.lead), a_zone(desk, cast)
    for _ in range(3):
        zones.finish_walk(desk, cast.lead.id, zone.id)
        client.post(path(cast))
    first = client.get(path(cast)).text
    older = re.search(r'href="([^"]+)">Older checkpoints', first)
    assert older
    seen = re.findall(r"checkpoints/(\d+)\"", first) + re.findall(
        r"checkpoints/(\d+)\"", client.get(older[1]).text
    )
    assert seen == [str(size) for size in sorted(kept(desk, cast), reverse=True)]


def test_nobody_from_outside_sees_or_keeps_one(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    where = page_of(cast.lead).post(path(cast)).headers["location"]
    before = head(desk, cast)
    for person in (cast.outsider, cast.other_manager):
        client = page_of(person)
        for asked in (path(cast), where, f"{where}/checkpoint.txt", path(cast, "/check")):
            assert client.get(asked).status_code == 404
        assert client.post(path(cast)).status_code == 404
    assert head(desk, cast) == before
