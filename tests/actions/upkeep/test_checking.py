"""The check finds what somebody has changed behind the history's back."""

from __future__ import annotations

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.office import projects
from service.actions.people import people
from service.actions.sketches import zones
from service.actions.upkeep.checking import check_histories
from tests.builders import a_mark, a_patch, a_pipe, a_seam, a_sketch, a_zone
from tests.cast import Cast, enter

SPOILS_TABLES = True  # behind the history's back, to see it found


def change(desk: Desk, statement: str) -> None:
    """What a hand in the database does: triggers first taken away, as whoever owns the file can."""
    with desk.writing() as session:
        names = session.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).scalars().all()
        for name in names:
            session.execute(text(f'DROP TRIGGER "{name}"'))
        assert session.execute(text(statement)).rowcount  # type: ignore[attr-defined]


def test_a_project_with_somebody_taken_off_is_well(desk: Desk, cast: Cast) -> None:
    people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)
    found = check_histories(desk)
    assert (found.projects, found.faults) == (2, ())
    assert found.entries == 7  # 4 and 2 from the cast, and the taking off


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        (
            "UPDATE member SET body = replace(body, 'crew lead', 'project manager')",
            "differs from its history",
        ),
        ("DELETE FROM member WHERE role = 'inspector'", "in the history and not in the tables"),
        ("UPDATE project SET body = replace(body, 'North', 'South')", "its own row differs"),
        ("UPDATE project SET seq = seq + 1", "its head says"),
        ("DELETE FROM entry WHERE seq = 3", "is missing"),
        (
            "UPDATE entry SET content = CAST(replace(content, 'inspector', 'crew lead') AS BLOB)",
            "hash differs",
        ),
        ("UPDATE tree_node SET hash = x'00' WHERE level = 1 AND place = 0", "nodes that its entries do not"),
        ("DELETE FROM tree_node WHERE level = 1", "nodes that its entries do not give"),
        (
            "INSERT INTO tree_node SELECT project_id, 9, 0, hash FROM tree_node LIMIT 1",
            "nodes that its entries",
        ),
        ("UPDATE project SET peaks = x'00'", "its head's tree"),
        ("UPDATE project SET note = replace(note, '5', '6')", "its head's checkpoint"),
        ("UPDATE project SET key = 'AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA='", "its head's checkpoint"),
        ("DELETE FROM checkpoint", "left, and is not kept"),
        ("UPDATE checkpoint SET size = 2", "that no entry gave"),
        ("UPDATE checkpoint SET note = (SELECT note FROM project WHERE seq = 2)", "is not of its entries"),
    ],
)
@pytest.mark.sqlite_only("SQLite's own words spoil the tables")
def test_a_change_behind_the_historys_back_is_named(
    desk: Desk, cast: Cast, statement: str, words: str
) -> None:
    signing.keep_checkpoint(desk, cast.inspector.id, cast.project_id)
    assert check_histories(desk).faults == ()
    change(desk, statement)
    assert words in " ".join(check_histories(desk).faults)


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE defect SET zone_id = (SELECT id FROM zone WHERE letter = 'C')", ("defect",)),
        ("UPDATE defect SET x = x + 1000000, y = y + 1000000", ("defect",)),
        ("UPDATE defect SET reach_nm = 0", ("defect",)),
        ("UPDATE patch SET zone_id = (SELECT id FROM zone WHERE letter = 'C')", ("patch",)),
        ("DELETE FROM patch_mark", ("patch",)),
        ("UPDATE seam SET x1 = x0", ("seam",)),
        ("UPDATE penetration SET zone_id = (SELECT id FROM zone WHERE letter = 'C')", ("penetration",)),
        ("UPDATE hold SET zone_id = (SELECT id FROM zone WHERE letter = 'C')", ("hold",)),
        ("UPDATE member SET role = 'project manager' WHERE role = 'crew lead'", ("member",)),
    ],
)
@pytest.mark.sqlite_only("SQLite's own words spoil the tables")
def test_what_is_found_by_other_columns_than_its_history_gives_is_named(
    desk: Desk, cast: Cast, statement: str, named: tuple[str, ...]
) -> None:
    """The gate finds what is in a zone by them: an open mark filed elsewhere would hold nothing."""
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    a_zone(desk, cast, sketch, "C", [[1000, 200], [1800, 200], [1800, 800], [1000, 800]])
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_pipe(desk, cast, zone)
    a_seam(desk, cast, zone)
    zones.hold_zone(desk, cast.manager.id, zone.id, "standing water", "By the door")
    assert check_histories(desk).faults == ()
    change(desk, statement)
    faults = check_histories(desk).faults
    assert {words.partition(": ")[2].partition(" ")[0] for words in faults} == set(named)
    assert all("filed where its history does not put it" in words for words in faults)


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE naming SET name = 'Somebody Else'", "does not open its hash"),
        ("UPDATE naming SET salt = x'00'", "does not open its hash"),
        ("UPDATE naming SET name_sha256 = '00'", "that the history never told"),
    ],
)
@pytest.mark.sqlite_only("SQLite's own words spoil the tables")
def test_a_name_that_does_not_open_its_hash_is_named(desk: Desk, statement: str, words: str) -> None:
    person = enter(desk, "Nora Named")
    projects.start_project(desk, person.id, "A slab", "us", "America/Chicago")
    assert check_histories(desk).faults == ()
    change(desk, statement)
    assert words in " ".join(check_histories(desk).faults)


@pytest.mark.parametrize("table", ["entry", "tree_node", "checkpoint"])
@pytest.mark.parametrize("change", ["UPDATE {} SET project_id = 'x'", "DELETE FROM {}"])
def test_what_was_signed_is_never_updated_or_deleted(desk: Desk, cast: Cast, table: str, change: str) -> None:
    signing.keep_checkpoint(desk, cast.inspector.id, cast.project_id)
    with pytest.raises(DatabaseError, match="append-only"), desk.writing() as session:
        session.execute(text(change.format(table)))
