"""The check finds what somebody has changed behind the history's back."""

from __future__ import annotations

import pytest
from sqlalchemy import text

from service.actions import people
from service.actions.checking import check_histories
from service.actions.desk import Desk
from tests.cast import Cast


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
    ],
)
def test_a_change_behind_the_historys_back_is_named(
    desk: Desk, cast: Cast, statement: str, words: str
) -> None:
    change(desk, statement)
    assert words in " ".join(check_histories(desk).faults)
