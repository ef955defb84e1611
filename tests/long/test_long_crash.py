"""The campaign behind tests/whole/test_crash.py: two hundred kills on one database."""

from __future__ import annotations

from pathlib import Path

from service.actions.desk import Desk
from tests.builders import a_zone
from tests.cast import Cast
from tests.whole.crash_rounds import Told, faults_in, kill_while_writing
from tests.whole.test_crash import tmp_path

__all__ = ["tmp_path"]
ROUNDS = 200


def test_two_hundred_kills_lose_nothing_that_was_told(desk: Desk, cast: Cast, data: Path) -> None:
    zone, told = a_zone(desk, cast), Told()
    for seed in range(ROUNDS):
        told.take(kill_while_writing(data, cast.lead.id, zone.id, 1000 + seed))
        if seed % 10 == 9:
            assert not faults_in(data, desk, told), f"after kill {seed + 1}"
    assert len(told.marks) >= ROUNDS
