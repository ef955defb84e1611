"""A database as the first program wrote it: brought up, true to its history, its release still standing.

`earlier/first.sql` was filled and dumped by that program. The digests and the leaf hash below are what it
said itself then: nothing here asks the present program for them.
"""

from __future__ import annotations

import csv
import hashlib
import io
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from service.actions.closeout import certificates
from service.actions.evidence import audit, comparing, signing
from service.actions.frame.desk import Desk
from service.actions.frame.reading import project_view
from service.actions.marks import defects, looks
from service.actions.office import numbers
from service.actions.record import record
from service.actions.sketches import zones
from service.actions.upkeep.checking import check_histories
from service.domain.nouns.site import Zone
from service.history.certificate.proof import proof_words
from service.history.replay.standing import GATES, digest_of
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import books, ledger
from service.storage.upkeep.migrate import migrate
from tests.cast import Clock

FIRST = Path(__file__).parent / "earlier" / "first.sql"
PROJECT = "8a44c2c765fee9a54310"
# What the first program printed of each zone: its state, and the digest of its facts.
SAID = {
    "A": ("placed", "1:56c86fe24a1873a017ec3a8a58f4c6f1cda7c15a23482aa94a19d993d4fe404a"),
    "B": ("ready to place", "1:1770f087517c0cec10196de603e0f5a651029823e9c8a9efc2cacf9d2900705c"),
    "C": ("held", "1:5c93e4e257520051bbd8626183d0b393012594483ca3ec0484fad6a8136f7d8a"),
    "D": ("clear", "1:5adf45afd6efae7cc0f0debfd437f699c1b579e172e309e3ebcf06d23b8c2d6b"),
    "E": ("laying", "1:e15894c9f7efb52624d8d175170404e7491af22e3deb874fda634f1bf8c87f54"),
}


@pytest.fixture
def old_file(tmp_path: Path) -> Path:
    """The database as it was, nothing run on it yet."""
    path = tmp_path / "old" / "laptight.sqlite3"
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(FIRST.read_text())
    return path


@pytest.fixture
def old(old_file: Path) -> Iterator[Desk]:
    """A desk on it, after every migration."""
    database = Database.at(old_file)
    migrate(database)
    yield Desk(database, Blobs(old_file.parent), Clock())
    database.close()


def kept(path: Path) -> list[tuple[int, bytes, bytes]]:
    """Every entry's number, bytes and hash, read past the program."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT seq, content, leaf FROM entry ORDER BY seq").fetchall()


def manager(desk: Desk) -> str:
    return next(p for p, role in people(desk) if role == "project manager")


def people(desk: Desk) -> list[tuple[str, str]]:
    with desk.reading() as session:
        entries = books.entries(session, PROJECT)
    joined = (entry.fact for entry in entries if entry.type == "person-joined")
    return [(fact.person, fact.role) for fact in joined]  # type: ignore[union-attr]  # by its type


def zone_of(desk: Desk, letter: str) -> Zone:
    found = project_view(desk, manager(desk), PROJECT).standings
    return next(standing.zone for standing in found if standing.zone.letter == letter)


def test_every_entry_of_the_first_program_keeps_its_bytes_and_hash(old_file: Path) -> None:
    before = kept(old_file)
    database = Database.at(old_file)
    migrate(database)
    database.close()
    assert kept(old_file) == before
    assert all(
        hashlib.sha256(b"\x00" + content).digest() == leaf for _, content, leaf in before
    )  # RFC 6962 2.1


def test_a_replay_of_the_first_program_s_history_equals_the_tables_brought_up(old: Desk) -> None:
    checked = check_histories(old)
    assert (checked.faults, checked.entries) == ((), len(kept(old.blobs.folder / "laptight.sqlite3")))


def test_each_zone_s_facts_under_the_first_gate_have_the_digest_it_gave_them(old: Desk) -> None:
    view = project_view(old, manager(old), PROJECT)
    gathered = {s.zone.letter: GATES[1].gather(view.site, s.zone.id) for s in view.standings}
    assert {letter: digest_of(facts, 1) for letter, facts in gathered.items()} == {
        letter: digest for letter, (_, digest) in SAID.items()
    }


def test_what_was_released_or_placed_stays_so_and_what_was_not_is_asked_by_the_newer_gate(old: Desk) -> None:
    """A sheet of the first program asked for all demands or for none; here it asked for none that it knew."""
    view = project_view(old, manager(old), PROJECT)
    states = {s.zone.letter: s.state for s in view.standings}
    assert (states["A"], states["B"], states["C"], states["E"]) == (
        "placed",
        "ready to place",
        "held",
        "laying",
    )
    assert view.site.project is not None
    assert view.site.project.sheet.gate_demands == ()
    assert states["D"] == "clear"


def test_a_new_mark_takes_the_first_program_s_release_away(old: Desk) -> None:
    zone = zone_of(old, "B")
    x, y = zone.outline[0]
    mark = defects.read_mark(
        "hole", (x / 1000 + 40, y / 1000 + 40), {"shape": "circle", "diameter": "1/2 in"}
    )
    defects.mark_defect(old, manager(old), zone.id, mark)
    assert zone_of_state(old, "B") == "held"


def test_a_number_raised_for_the_zone_takes_the_first_program_s_release_away(old: Desk) -> None:
    """The first gate has no ears for it: the release falls all the same."""
    zone = zone_of(old, "B")
    asked = {"patch_overlap": {"value": "6 1/4 in", "source": "Engineer's letter"}}
    numbers.raise_numbers(old, manager(old), zone.id, asked)
    assert zone_of_state(old, "B") != "ready to place"


def test_a_patch_refused_at_a_second_look_takes_the_first_program_s_release_away(old: Desk) -> None:
    zone = zone_of(old, "B")
    view = project_view(old, manager(old), PROJECT)
    patch = next(p for p in view.site.patches.values() if p.zone_id == zone.id and p.withdrawn is None)
    inspector = next(person for person, role in people(old) if role == "inspector")
    looks.look_at_patch(old, inspector, patch.id, False, "A corner lifts")
    assert zone_of_state(old, "B") == "held"


def zone_of_state(desk: Desk, letter: str) -> str:
    found = project_view(desk, manager(desk), PROJECT).standings
    return next(standing.state for standing in found if standing.zone.letter == letter)


def test_no_hash_is_told_that_was_not_kept_wherever_the_history_is_read(old: Desk, old_file: Path) -> None:
    """An old rule sheet read and written anew has more fields: its bytes, and its hash, would be others."""
    by, leaves = manager(old), {seq: leaf.hex() for seq, _, leaf in kept(old_file)}
    with old.reading() as session:
        told = {
            entry.seq: hashlib.sha256(b"\x00" + entry.content()).hexdigest()
            for entry in books.entries(session, PROJECT)
        }
    assert told != leaves, "the test has no teeth: nothing is encoded otherwise today"
    page = audit.history(old, by, PROJECT, limit=500).lines
    program, newest = audit.entries_after(old, by, PROJECT, 0, 500)
    between = comparing.compare_zone(old, by, zone_of(old, "B").id, 1, len(leaves)).lines
    for line in (*page, *program, newest, *between):
        assert line.hash == leaves[line.entry.seq]
    assert len(program) == len(page) == len(leaves) and between


def test_the_record_of_an_old_history_is_its_bytes_and_their_hashes(old: Desk, old_file: Path) -> None:
    made = record.make_record(old, manager(old), PROJECT)
    with made.file, zipfile.ZipFile(made.file) as archive:
        lines = archive.read("entries.jsonl").splitlines()
        table = list(csv.DictReader(io.StringIO(archive.read("history.csv").decode())))
    assert lines == [content for _, content, _ in kept(old_file)]
    # The tables tell what was there before the record was made; the last entry says that it was.
    assert [row["leaf_hash"] for row in table] == [leaf.hex() for _, _, leaf in kept(old_file)][:-1]


def test_work_goes_on_at_the_head_of_an_old_history(old: Desk) -> None:
    zones.finish_walk(old, manager(old), zone_of(old, "D").id, "walked again")
    with old.reading() as session:
        numbers = [seq for seq, _, _ in ledger.leaves(session, PROJECT)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert check_histories(old).faults == ()


def test_a_release_made_before_histories_were_signed_says_that_no_checkpoint_was_given(old: Desk) -> None:
    """And once one leaves, the certificate carries the earliest that covers it. Both are set on paper."""
    by = manager(old)
    [zone] = [z for z in project_view(old, by, PROJECT).site.zones.values() if z.letter == "B"]
    _, [before, *_] = certificates.zone_certificates(old, by, zone.id)
    assert (before.told.version, before.told.digest) == (1, SAID["B"][1])
    assert before.told.proof is None and before.told.since.word == "stands"
    assert proof_words(before.told).lead.startswith("No checkpoint was given at this release")
    assert before.pdf().startswith(b"%PDF-")
    size = signing.keep_checkpoint(old, by, PROJECT)
    _, [after, *_] = certificates.zone_certificates(old, by, zone.id)
    proven = after.told.proof
    assert proven is not None and not proven.with_release
    assert proven.proof.check(bytes.fromhex(after.told.leaf)).size == size
    assert "earliest that left afterwards" in proof_words(after.told).lead
