"""Where several processes share a PostgreSQL, one at a time looks for turns, and the others do not wait."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from service.actions.frame.desk import Desk
from service.actions.telling import sending_told
from service.actions.telling.sending_told import Outside, tick
from service.storage.doors.database import Database
from tests.conftest import SQLITE


@pytest.fixture
def other(desk: Desk, database_url: str) -> Iterator[Desk]:
    """Another process, with connections of its own."""
    database = Database(database_url, desk.database.keys)
    yield replace(desk.fresh(), database=database)
    database.close()


def test_who_comes_during_a_look_leaves_it_and_looks_the_next_time(
    desk: Desk, other: Desk, engine: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[str] = []

    def look(at: Desk) -> int:
        looked.append("other" if at is other else "desk")
        if at is desk:
            tick(other, Outside())
        return 0

    monkeypatch.setattr(sending_told, "look", look)
    tick(desk, Outside())
    assert looked == (["desk", "other"] if engine == SQLITE else ["desk"])
    looked.clear()
    tick(other, Outside())
    assert looked == ["other"]


def test_a_look_that_breaks_off_keeps_nobody_from_the_next(
    desk: Desk, other: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(at: Desk) -> int:
        raise RuntimeError("broken off")

    with monkeypatch.context() as patched:
        patched.setattr(sending_told, "look", broken)
        with pytest.raises(RuntimeError):
            tick(desk, Outside())
    looked: list[Desk] = []

    def look(at: Desk) -> int:
        looked.append(at)
        return 0

    monkeypatch.setattr(sending_told, "look", look)
    tick(other, Outside())
    assert looked == [other]


def test_what_is_due_is_sent_also_by_who_leaves_the_look_to_another(
    desk: Desk, other: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sending has its own claims, so that none is sent twice; a slow look must not keep mail waiting."""
    sent: list[Desk] = []

    def send_due(at: Desk, outside: Outside, go_on: object) -> int:
        sent.append(at)
        return 0

    monkeypatch.setattr(sending_told, "send_due", send_due)
    monkeypatch.setattr(sending_told, "look", lambda at: tick(other, Outside())[0] if at is desk else 0)
    tick(desk, Outside())
    assert sent == [other, desk]
