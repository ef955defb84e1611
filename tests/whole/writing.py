"""Many writers at once for a while: what they were answered, and what is in the history afterwards."""

from __future__ import annotations

import itertools
import threading
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import httpx

TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
LONGEST_S = 60  # an answer


@dataclass
class Written:
    """Statuses and how often each came; ids of what was told as recorded; seconds that answers took."""

    statuses: Counter[int] = field(default_factory=Counter)
    marks: list[str] = field(default_factory=list)
    took: list[float] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)

    def percentile(self, part: float) -> float:
        return sorted(self.took)[int(part * (len(self.took) - 1))]


def write_for(programs: Sequence[httpx.Client], zones: Sequence[str], seconds: float) -> Written:
    """Each program marks damage, one mark after the other, in the zones in turn, until the time is over.

    The zones are `tests.builders.SQUARE`, on sketches of their own."""
    written, guard, until = Written(), threading.Lock(), time.monotonic() + seconds

    def write(number: int, program: httpx.Client) -> None:
        for turn in itertools.count():
            if time.monotonic() > until:
                return
            at = [130 + (turn * 37 + number * 11) % 700, 130 + (turn * 53 + number * 17) % 500]
            body = {"kind": "tear", "at": at, "outline": TEAR}
            path = f"/api/v1/zones/{zones[(number + turn) % len(zones)]}/defects"
            began = time.monotonic()
            try:
                answer = program.post(path, json=body, headers={"Idempotency-Key": f"w{number}-{turn}"})
            except httpx.TimeoutException:
                written.broken.append(f"no answer within {LONGEST_S} s")
                continue
            with guard:
                written.took.append(time.monotonic() - began)
                written.statuses[answer.status_code] += 1
                if answer.status_code == 201:
                    written.marks.append(answer.json()["id"])
                elif answer.status_code >= 500:
                    written.broken.append(answer.text[:300])

    threads = [threading.Thread(target=write, args=each) for each in enumerate(programs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return written
