"""Told to stop while it serves: it ends what it took on, answers it, loses nothing, and exits with 0.

SQLite is served by one process, PostgreSQL by two workers. tests/long goes on for a hundred rounds.
"""

from __future__ import annotations

from pathlib import Path

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk, utc_now
from tests.builders import a_zone
from tests.cast import Cast
from tests.whole.stopping import CLIENTS, Written, stop_idle, stop_while_writing, wrong_after

ROUNDS = 2  # the command told alone, and every process of it told, as `stopping` says


def test_a_service_told_to_stop_while_it_is_written_to_loses_nothing(
    engine: str, desk: Desk, cast: Cast, data: Path, database_url: str, tmp_path: Path
) -> None:
    zone, written, log = a_zone(desk, cast), Written(), tmp_path / "log"
    desk.clock = utc_now
    token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PROGRAM)
    workers = 1 if engine == "sqlite" else 2
    for seed in range(ROUNDS):
        status = stop_while_writing(data, database_url, workers, token, zone.id, seed, written, log)
        assert status == 0, log.read_text()
        assert len(written.unanswered) == CLIENTS
        assert wrong_after(desk.fresh(), cast.project_id, written) == []
    assert stop_idle(data, database_url, workers, token, written, log) == 0, log.read_text()
    assert wrong_after(desk.fresh(), cast.project_id, written) == []
    assert set(written.answered) == set(written.sent)
    assert "Traceback" not in log.read_text()
