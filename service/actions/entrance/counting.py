"""How much one caller asks for: requests of a person, or by a link from an address, over all workers.

A process counts by itself and writes one row for a share of them (SHARE), so that a look costs no write and
several workers still count together: each may be a share behind. Far above what people and phones do: what a
phone kept in 60 hours without signal is some 6,000 requests, sent one after the other.
"""

from __future__ import annotations

import math
import threading
from datetime import datetime, timedelta

from service.actions.entrance.throttle import EMAIL_SPAN
from service.actions.frame.desk import Desk
from service.domain.words.refusals import SlowDown
from service.domain.words.speech import trn
from service.storage.accounts import people
from service.storage.doors.locks import alone
from service.storage.upkeep.outages import is_outage

SPAN = timedelta(minutes=10)
MOST_OF_PERSON, MOST_OF_ADDRESS = 12_000, 3_000  # in SPAN; common practice, no source
SHARE = 200
MOST_KEPT = 10_000  # callers that a process remembers at a time


class Counted:
    """What one process counted since it last told the database, and whom it was told to hold back."""

    def __init__(self, most_of_person: int = MOST_OF_PERSON) -> None:
        """`most_of_person`: requests of one person in ten minutes; an address has a quarter of it. 0: nobody
        is counted."""
        self.most = most_of_person
        self._lock = threading.Lock()
        self._here: dict[str, tuple[datetime, int]] = {}
        self._until: dict[str, datetime] = {}

    def person(self, desk: Desk, person_id: str) -> None:
        """One more request of somebody signed in. SlowDown past the limit."""
        self._count(desk, f"requests of person {person_id}", self.most)

    def lightly(self, desk: Desk, person_id: str) -> bool:
        """One more request of somebody signed in, where that takes no write and nothing holds them back.
        Else False, and it is to be counted by `person`."""
        if self.most <= 0:
            return True
        subject, share = f"requests of person {person_id}", _share(self.most)
        with self._lock:
            if subject in self._until:
                return False
            count = self._one_more(subject, desk.clock())
        # One alone goes on to write the share down; the others need not wait for it.
        return count != share and count < 2 * share

    def address(self, desk: Desk, address: str) -> None:
        """One more request, by a link, from this network address. SlowDown past the limit."""
        self._count(desk, f"requests from {address}", self.most * MOST_OF_ADDRESS // MOST_OF_PERSON)

    def _count(self, desk: Desk, subject: str, most: int) -> None:
        if self.most <= 0:
            return
        now, share = desk.clock(), _share(most)
        with self._lock:
            self._hold_back(subject, now)
            if self._one_more(subject, now) < share:
                return
            del self._here[subject]
        first = _told(desk, subject, now, most // share)
        if first is not None:
            with self._lock:
                self._until[subject] = first + SPAN
                self._hold_back(subject, now)

    def _one_more(self, subject: str, now: datetime) -> int:
        """Count one more here; how many by now, since the first of them was no longer ago than SPAN."""
        began, count = self._here.pop(subject, (now, 0))
        began, count = (began, count + 1) if now - began <= SPAN else (now, 1)
        self._here[subject] = (began, count)
        self._sweep()
        return count

    def _hold_back(self, subject: str, now: datetime) -> None:
        until = self._until.get(subject)
        if until is None:
            return
        if until <= now:
            del self._until[subject]
            return
        wait = max(1, math.ceil((until - now).total_seconds()))
        words = trn(
            "Too many requests. Wait {n} second, then go on.",
            "Too many requests. Wait {n} seconds, then go on.",
            wait,
        )
        raise SlowDown(words, wait)

    def _sweep(self) -> None:
        """Only the newest callers are remembered: however many addresses come, the memory they take ends."""
        for kept in (self._here, self._until):
            while len(kept) > MOST_KEPT:
                del kept[next(iter(kept))]


def _share(most: int) -> int:
    """How many requests are counted here before a row says so to the other workers."""
    return max(1, min(SHARE, most // 20))


def _told(desk: Desk, subject: str, now: datetime, most: int) -> datetime | None:
    """Write down one share more; when the oldest that counts was, where there are more than `most` by now.
    Where nothing can be written nobody is held back: people still look."""
    try:
        with desk.writing() as session:
            alone(session, f"tries of {subject}")
            people.forget_tries(session, now - max(EMAIL_SPAN, SPAN))
            people.note_try(session, subject, now)
            count, first = people.tries(session, subject, now - SPAN)
    except Exception as trouble:
        if is_outage(trouble):
            return None
        raise
    return first if count > most else None
