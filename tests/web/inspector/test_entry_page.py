"""One entry's page: its exact bytes, a proof that holds by the standard's own text, and its name."""

from __future__ import annotations

import base64
import hashlib
import html
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from sqlalchemy import text

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.people import erasing, people
from service.domain.nouns.roles import CREW_LEAD
from service.storage.history import ledger, trees
from tests.builders import a_mark, a_zone
from tests.cast import Cast, enter
from tests.conftest import ClientOf
from tests.history import rfc9162


def path(cast: Cast, seq: int, rest: str = "") -> str:
    return f"/projects/{cast.project_id}/history/{seq}{rest}"


def contents(desk: Desk, cast: Cast) -> list[bytes]:
    with desk.reading() as session:
        return [content for _, content, _ in ledger.leaves(session, cast.project_id)]


def main_words(page: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", page.partition("<main")[2]))


def test_an_entry_shows_its_sentence_its_bytes_and_its_hash(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    mark = a_mark(desk, cast, a_zone(desk, cast))
    entries = contents(desk, cast)
    seq, client = len(entries), page_of(cast.inspector)
    page = client.get(path(cast, seq)).text
    told = main_words(page)
    assert f"Entry {seq}" in told and "Lou Lead marked B-01: tear, 4 by 2 in." in told and "crew lead" in told
    assert entries[-1].decode() in html.unescape(page)
    leaf = hashlib.sha256(b"\x00" + entries[-1]).hexdigest()
    assert " ".join(leaf[at : at + 4] for at in range(0, 64, 4)) in page
    assert f'href="/defects/{mark.id}"' in page
    assert f'href="/zones/{mark.zone_id}/as-it-stood?entry={seq}"' in page
    answer = client.get(path(cast, seq, "/entry.json"))
    assert answer.content == entries[-1] and answer.headers["content-type"] == "application/json"
    for nothing in (seq + 1, 0, 10**30):
        assert client.get(path(cast, nothing)).status_code == 404


def test_the_history_leads_to_every_entry_s_page(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    page = page_of(cast.lead).get(f"/projects/{cast.project_id}/history").text
    for seq in range(1, len(contents(desk, cast)) + 1):
        assert f'href="{path(cast, seq)}"' in page


def test_before_a_checkpoint_left_there_is_no_proof_and_one_can_be_kept(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    signing.keep_checkpoint(desk, cast.lead.id, cast.project_id)
    a_zone(desk, cast)
    seq, client = len(contents(desk, cast)), page_of(cast.lead)
    page = client.get(path(cast, seq)).text
    assert "No checkpoint that left covers this entry yet" in page
    assert f'action="/projects/{cast.project_id}/checkpoints"' in page and "Keep a checkpoint" in page
    assert client.get(path(cast, seq, "/proof")).status_code == 404
    assert len(contents(desk, cast)) == seq
    client.post(f"/projects/{cast.project_id}/checkpoints")
    assert f"Entry {seq} stands in the history of the checkpoint of {seq + 1} entries." in main_words(
        client.get(path(cast, seq)).text
    )


def test_every_proof_leads_to_the_newest_checkpoint_by_the_standard_s_own_definition(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """The file is read here by the text of C2SP tlog-proof, the path by RFC 9162 section 2.1.3."""
    signing.keep_checkpoint(desk, cast.lead.id, cast.project_id)
    a_mark(desk, cast, a_zone(desk, cast))
    size = signing.keep_checkpoint(desk, cast.lead.id, cast.project_id)
    entries, client = contents(desk, cast), page_of(cast.inspector)
    with desk.reading() as session:
        note = dict(trees.kept(session, cast.project_id))[size]
    for seq, entry in enumerate(entries, 1):
        answer = client.get(path(cast, seq, "/proof"))
        assert answer.headers["content-disposition"].endswith(f'"entry-{seq}.tlog-proof"')
        head, _, checkpoint = answer.text.partition("\n\n")
        form, extra, index, *hashes = head.split("\n")
        assert (form, index, checkpoint) == ("c2sp.org/tlog-proof@v1", f"index {seq - 1}", note)
        assert base64.b64decode(extra.removeprefix("extra ")) == entry
        told = [base64.b64decode(one) for one in hashes]
        root = rfc9162.root_by_path(seq - 1, size, entry, told)
        assert base64.b64encode(root).decode() == note.split("\n")[2]
    page = client.get(path(cast, 3)).text
    sides = re.findall(r"<td>(left|right)</td><td><code>([0-9a-f]{64})</code>", page)
    here = rfc9162.leaf(entries[2])
    for side, one in sides:
        pair = (bytes.fromhex(one), here) if side == "left" else (here, bytes.fromhex(one))
        here = rfc9162.node(*pair)
    assert sides and here == rfc9162.root(entries[:size])


@pytest.mark.skipif(not shutil.which("openssl"), reason="no openssl here")
def test_the_steps_on_the_page_work_in_a_shell_with_the_download(
    desk: Desk, cast: Cast, page_of: ClientOf, tmp_path: Path
) -> None:
    a_mark(desk, cast, a_zone(desk, cast))
    signing.keep_checkpoint(desk, cast.lead.id, cast.project_id)
    seq, client = len(contents(desk, cast)) - 1, page_of(cast.inspector)
    (tmp_path / f"entry-{seq}.tlog-proof").write_bytes(client.get(path(cast, seq, "/proof")).content)
    page = client.get(path(cast, seq)).text.partition("Check it by hand")[2]
    commands = re.findall(r"<pre[^>]*>(.*?)</pre>", page, re.S)
    prints = re.findall(r'<code class="bytes">(.*?)</code>', page, re.S)
    assert len(commands) == len(prints) == 5
    for command, wanted in zip(commands, prints, strict=True):
        run = ["sh", "-e", "-c", html.unescape(command)]
        done = subprocess.run(run, cwd=tmp_path, capture_output=True, text=True, check=True, timeout=30)
        assert done.stdout.rstrip("\n").split("\n")[-1] == html.unescape(wanted)


def test_an_entry_that_was_changed_has_no_proof_and_says_so(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_mark(desk, cast, a_zone(desk, cast))
    signing.keep_checkpoint(desk, cast.lead.id, cast.project_id)
    seq = len(contents(desk, cast)) - 1
    with desk.database.engine.begin() as connection:
        connection.execute(text("DROP TRIGGER entry_is_never_updated"))
        forged = contents(desk, cast)[seq - 1].replace(b'"tear"', b'"hole"')
        connection.execute(
            text("UPDATE entry SET content = :forged WHERE project_id = :p AND seq = :seq"),
            {"forged": forged, "p": cast.project_id, "seq": seq},
        )
    client = page_of(cast.inspector)
    told = main_words(client.get(path(cast, seq)).text)
    assert "This entry cannot be proved." in told
    assert "Its bytes are not what the hash kept beside it was made of." in told
    assert f"It does not lead to the checkpoint of {seq + 1} entries that left." in told
    assert client.get(path(cast, seq, "/proof")).status_code == 404
    assert "stands in the history" in main_words(client.get(path(cast, 1)).text)


# --- names -------------------------------------------------------------------------------------------------


def joined(desk: Desk, cast: Cast, name: str) -> int:
    """Somebody with an account is let in: the number of the entry that says so."""
    person = enter(desk, name)
    people.invite(desk, cast.manager.id, cast.project_id, person.email, CREW_LEAD)
    entries = contents(desk, cast)
    return next(seq for seq, one in reversed(list(enumerate(entries, 1))) if b"person-joined" in one)


def test_a_name_told_by_its_hash_opens_with_the_salt_kept_here(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    seq = joined(desk, cast, "Nora New")
    page = page_of(cast.inspector).get(path(cast, seq)).text
    assert "The salt kept here opens it: Nora New." in page
    assert "Nora" not in contents(desk, cast)[seq - 1].decode()
    untold = page_of(cast.inspector).get(path(cast, 2)).text
    assert "An earlier program wrote this entry and told no name." in untold
    assert "The name behind it" not in page_of(cast.inspector).get(path(cast, 1)).text


def test_a_salt_that_does_not_open_or_is_gone_is_told_and_never_taken_for_erased(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    seq, client = joined(desk, cast, "Nora New"), page_of(cast.inspector)
    for change in ("UPDATE naming SET name = 'Somebody Else'", "DELETE FROM naming"):
        with desk.database.engine.begin() as connection:
            connection.execute(text(change))
        page = client.get(path(cast, seq)).text
        assert "No salt is kept here that opens this hash, though nobody erased the name." in page
        assert "Somebody Else" not in page


def test_an_erased_name_is_told_as_erased_and_the_entry_is_proved_as_before(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    seq, client = joined(desk, cast, "Nora New"), page_of(cast.inspector)
    before = contents(desk, cast)[seq - 1]
    erasing.erase_person(desk, "nora.new@example.com")
    signing.keep_checkpoint(desk, cast.lead.id, cast.project_id)
    page = client.get(path(cast, seq)).text
    assert "The name was erased, and its salt with it" in page and "Nora" not in page
    assert "stands in the history of the checkpoint" in page
    assert contents(desk, cast)[seq - 1] == before
