"""The campaign behind tests/whole/test_writers.py: a minute of thirty-two writers on served processes.

SQLite is served by one process; PostgreSQL by one, by two workers of one command, and by two commands on
ports of their own, as on two machines. With `-s` the counts are told.
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk, utc_now
from service.actions.upkeep.checking import check_histories
from service.storage.history import books
from tests.builders import a_zone
from tests.cast import Cast
from tests.whole.test_command_line import serving
from tests.whole.writing import LONGEST_S, write_for

WRITERS, SECONDS = 32, 60
WAYS = {"one process": (1, 1), "two workers": (1, 2), "two commands": (2, 1)}


@pytest.mark.parametrize("way", WAYS)
def test_a_minute_of_thirty_two_writers(
    way: str, engine: str, desk: Desk, cast: Cast, data: Path, database_url: str, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    commands, workers = WAYS[way]
    if engine == "sqlite" and way != "one process":
        pytest.skip("SQLite is served by one process")
    zones = [a_zone(desk, cast, letter=letter).id for letter in "BCDE"]
    desk.clock = utc_now
    token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PROGRAM)
    monkeypatch.setenv("LAPTIGHT_DATABASE_URL", database_url)
    told = [tmp_path / f"log-{number}" for number in range(commands)]
    with ExitStack() as stack:
        words = ("serve", "--data", data, "--workers", str(workers))
        addresses = [stack.enter_context(serving(*words, told=log)) for log in told]
        programs = [
            stack.enter_context(
                httpx.Client(
                    base_url=addresses[number % commands],
                    headers={"Authorization": f"Bearer {token}"},
                    timeout=LONGEST_S,
                )
            )
            for number in range(WRITERS)
        ]
        written = write_for(programs, zones, SECONDS)
    logs = "".join(log.read_text() for log in told)
    print(
        f"{engine}, {way}: {dict(written.statuses)}, {len(written.marks) / SECONDS:.1f} marks/s, "
        f"p50 {written.percentile(0.5):.3f} s, p99 {written.percentile(0.99):.3f} s",
        flush=True,
    )
    assert written.broken == [] and set(written.statuses) == {201}
    assert "is locked" not in logs and "Traceback" not in logs
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    marked = {getattr(entry.fact, "defect", None) for entry in entries if entry.type == "defect-marked"}
    assert marked == set(written.marks)
    assert check_histories(desk.fresh()).faults == ()
