"""What many clients are told of one zone could have come of one thing done after another.

tests/long records two hundred histories of a thousand operations; here are a few short ones, and the control:
the same with the protection taken away is told apart in at least half of them.
"""

from __future__ import annotations

from collections.abc import Callable

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from tests.builders import a_walk, a_zone
from tests.cast import Cast
from tests.in_process import ADDRESS, InProcess
from tests.whole.linearizing import Op, linearizable
from tests.whole.racing import Unprotected, no_protection
from tests.whole.recording import OUTLINE, Client, Zone, all_broken, all_ops, record, step

CLIENTS, EACH, HISTORIES = 8, 20, 3
Record = Callable[[int], list[Client]]


@pytest.fixture
def recorded(app: FastAPI, desk: Desk, cast: Cast) -> Record:
    """Records a history of a zone of its own, by programs of the project manager."""
    token, _ = accounts.open_sign_in(desk.fresh(), cast.manager.id, accounts.PROGRAM)

    def run(seed: int) -> list[Client]:
        zone = a_zone(desk.fresh(), cast, None, chr(65 + seed), OUTLINE)
        a_walk(desk.fresh(), cast, zone)
        transport, headers = InProcess(app, raises=False), {"Authorization": f"Bearer {token}"}
        programs = [
            httpx.Client(transport=transport, base_url=ADDRESS, headers=headers) for _ in range(CLIENTS)
        ]
        return record(programs, zone.id, EACH, seed)

    return run


def test_what_eight_clients_were_told_has_an_order(recorded: Record) -> None:
    given = set()
    for seed in range(HISTORIES):
        clients = recorded(seed)
        ops = all_ops(clients)
        assert all_broken(clients) == []
        assert len(ops) == CLIENTS * EACH
        assert linearizable(ops, Zone(), step)
        given |= {(op.asked[0], op.gave[0]) for op in ops}
    assert {("release", "done"), ("read", "held"), ("read", "ready to place")} <= given, "nothing to check"


def test_one_answer_changed_is_told_apart(recorded: Record) -> None:
    """The checker has teeth on the very histories it is used on."""
    ops = all_ops(recorded(0))
    place = next(n for n, op in enumerate(ops) if op.asked[0] == "read")
    old = ops[place]
    other = "clear" if old.gave[0] == "held" else "held"
    ops[place] = Op(old.called, old.returned, old.asked, (other, old.gave[1]))
    assert not linearizable(ops, Zone(), step)


def test_without_the_protection_at_least_half_are_told_apart(
    recorded: Record, app: FastAPI, database_url: str
) -> None:
    """The control: the head is locked after the look, and SQLite's write begins where it writes."""
    database = app.state.desk.database
    app.state.desk.database = Unprotected(database_url, database.keys)
    flagged, histories = 0, 4
    with no_protection():
        for seed in range(histories):
            flagged += not linearizable(all_ops(recorded(seed)), Zone(), step)
    app.state.desk.database.close()
    app.state.desk.database = database
    assert flagged * 2 >= histories, f"{flagged} of {histories}"
