"""The campaign behind tests/whole/test_histories.py: two hundred histories of eight clients by 125
operations, on served processes: one on SQLite, two on PostgreSQL, whose clients are spread over both.

With `-s` the counts come as they grow.
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk, utc_now
from tests.builders import a_walk, a_zone
from tests.cast import Cast
from tests.whole.linearizing import linearizable
from tests.whole.recording import OUTLINE, Zone, all_broken, all_ops, record, step
from tests.whole.test_command_line import serving

CLIENTS, EACH, HISTORIES = 8, 125, 200


def test_two_hundred_histories_each_have_an_order(
    engine: str, desk: Desk, cast: Cast, data: Path, database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.clock = utc_now
    token, _ = accounts.open_sign_in(desk.fresh(), cast.manager.id, accounts.PROGRAM)
    monkeypatch.setenv("LAPTIGHT_DATABASE_URL", database_url)
    headers, counted = {"Authorization": f"Bearer {token}"}, 0
    with ExitStack() as stack:
        words = ("serve", "--data", data)
        told = [data / f"log-{number}" for number in range(1 if engine == "sqlite" else 2)]
        addresses = [stack.enter_context(serving(*words, told=log)) for log in told]
        programs = [
            stack.enter_context(
                httpx.Client(base_url=addresses[number % len(addresses)], headers=headers, timeout=60)
            )
            for number in range(CLIENTS)
        ]
        for seed in range(HISTORIES):
            letter = chr(65 + seed // 26) + chr(65 + seed % 26)
            zone = a_zone(desk.fresh(), cast, None, letter, OUTLINE)
            a_walk(desk.fresh(), cast, zone)
            clients = record(programs, zone.id, EACH, 1_000 + seed)
            ops = all_ops(clients)
            assert all_broken(clients) == []
            assert linearizable(ops, Zone(), step), f"history {seed} has no order"
            counted += len(ops)
            if seed % 5 == 4:
                print(f"{engine}: {seed + 1} histories, {counted} operations, all have an order", flush=True)
