"""The tests' own PostgreSQL goes with whoever started it, also when a signal ends them."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from tests import postgres

ROOT = Path(__file__).parents[2]
LONGEST_S = 60
BENCH = """
import signal, sys, time
from pathlib import Path
from tests import postgres
signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored where a shell runs us behind itself
with postgres.running(Path(sys.argv[1])) as server:
    print(server.socket, flush=True)
    time.sleep(60)
"""


def runs(process: psutil.Process) -> bool:
    """Ended it may stay in the list until it is asked after, by whoever starts all else here."""
    return bool(process.is_running() and process.status() != psutil.STATUS_ZOMBIE)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT], ids=["SIGTERM", "SIGINT"])
def test_a_bench_that_a_signal_ends_leaves_no_server_behind(
    server: postgres.Server, number: signal.Signals
) -> None:
    """`server`: where there is no PostgreSQL, its fixture says so."""
    words = [sys.executable, "-c", BENCH, str(postgres.binaries())]
    quiet = subprocess.DEVNULL
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=quiet, text=True) as bench:
        assert bench.stdout is not None
        folder = Path(bench.stdout.readline().strip())
        own = psutil.Process(int((folder / "data" / "postmaster.pid").read_text().split("\n", 1)[0]))
        bench.send_signal(number)
        assert bench.wait(LONGEST_S) != 0
    try:
        assert not runs(own)
        assert not folder.exists()
    finally:
        if runs(own):
            own.kill()
