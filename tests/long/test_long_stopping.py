"""The campaign behind tests/whole/test_stopping.py: a hundred times told to stop while it is written to.

With `-s` the counts come as they grow.
"""

from __future__ import annotations

from pathlib import Path

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk, utc_now
from tests.builders import a_zone
from tests.cast import Cast
from tests.whole.stopping import CLIENTS, Written, stop_idle, stop_while_writing, wrong_after

ROUNDS, LOOK_EVERY = 100, 10


def test_a_hundred_stops_lose_nothing(
    engine: str, desk: Desk, cast: Cast, data: Path, database_url: str, tmp_path: Path
) -> None:
    zones = [a_zone(desk, cast, letter=chr(65 + number)) for number in range(ROUNDS // LOOK_EVERY)]
    written, log, workers = Written(), tmp_path / "log", 1 if engine == "sqlite" else 2
    desk.clock = utc_now
    token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PROGRAM)
    for seed in range(ROUNDS):
        zone = zones[seed // LOOK_EVERY].id
        status = stop_while_writing(data, database_url, workers, token, zone, 1000 + seed, written, log)
        assert status == 0 and written.broken == [], (written.broken, log.read_text())
        assert len(written.unanswered) == CLIENTS
        if seed % LOOK_EVERY == LOOK_EVERY - 1:
            assert wrong_after(desk.fresh(), cast.project_id, written) == [], f"after stop {seed + 1}"
            print(f"{engine}: {seed + 1} stops, {len(written.answered)} marks told, 0 lost", flush=True)
    assert stop_idle(data, database_url, workers, token, written, log) == 0, log.read_text()
    assert wrong_after(desk.fresh(), cast.project_id, written) == []
    assert set(written.answered) == set(written.sent)
    assert "Traceback" not in log.read_text()
