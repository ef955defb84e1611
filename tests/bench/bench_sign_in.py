"""How long signing in takes for an address that has an account against one that has none, both with a wrong
password: who has an account is to be told by no clock (ASSURANCE 4.4: medians within 10 % over 200 tries).

A ratio; nothing passes or fails. `.venv/bin/python -m tests.bench.bench_sign_in`
"""

from __future__ import annotations

import statistics
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from service.actions.entrance import accounts
from service.app import make_desk
from service.domain.words.refusals import NotSignedIn
from service.settings import Settings
from tests.cast import Clock, enter

TRIES = 200


def main() -> None:
    clock = Clock()
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings.read(Path(folder), environ={})
        desk = make_desk(settings, clock=clock)
        known = enter(desk, "Known Person").email
        took: dict[str, list[float]] = {known: [], "nobody@example.com": []}
        for _ in range(TRIES):
            clock.go_on(minutes=16)  # past the throttle
            for email, times in took.items():
                begun = time.perf_counter()
                with suppress(NotSignedIn):
                    accounts.begin(desk.fresh(), email, "not the password", "10.0.0.1")
                times.append(time.perf_counter() - begun)
        desk.database.close()
    with_one, with_none = (statistics.median(times) for times in took.values())
    print(
        f"known {with_one * 1000:.1f} ms, unknown {with_none * 1000:.1f} ms, ratio {with_none / with_one:.3f}"
    )


if __name__ == "__main__":
    main()
