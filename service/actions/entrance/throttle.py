"""The throttle: failed tries of something secret, counted by account and by network address."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

from service.actions.frame.desk import Desk
from service.domain.words.refusals import SlowDown
from service.domain.words.speech import tr, trn
from service.storage.accounts import people
from service.storage.doors.locks import alone

# NIST SP 800-63B-4 section 3.2.2 allows 100 failures in a row at the most; these are far below it.
EMAIL_TRIES, EMAIL_SPAN = 10, timedelta(minutes=15)
ADDRESS_TRIES, ADDRESS_SPAN = 30, timedelta(minutes=1)


def note_try(desk: Desk, email: str, address: str) -> tuple[int, ...]:
    """Count the try as failed before the password is looked at, so that many at once cannot slip past the
    count; it is taken back when the password fits."""
    subjects = (
        (f"email:{email}", EMAIL_TRIES, EMAIL_SPAN),
        (f"address:{address}", ADDRESS_TRIES, ADDRESS_SPAN),
    )
    return _noted(desk, subjects)


def note_address(desk: Desk, address: str) -> tuple[int, ...]:
    """Count a try of something secret from this address as failed, until it is taken back. SlowDown."""
    return _noted(desk, ((f"address:{address}", ADDRESS_TRIES, ADDRESS_SPAN),))


def take_back_tries(desk: Desk, noted: tuple[int, ...]) -> None:
    with desk.writing() as session:
        people.take_back_tries(session, noted)


def _noted(desk: Desk, subjects: Sequence[tuple[str, int, timedelta]]) -> tuple[int, ...]:
    now = desk.clock()
    with desk.writing() as session:
        alone(session, *(f"tries of {subject}" for subject, _, _ in subjects))
        people.forget_tries(session, now - max(EMAIL_SPAN, ADDRESS_SPAN))
        for subject, most, span in subjects:
            count, first = people.tries(session, subject, now - span)
            if count >= most and first is not None:
                wait = max(1, math.ceil((first + span - now).total_seconds()))
                raise SlowDown(_wait_words(wait), wait)
        return tuple(people.note_try(session, subject, now) for subject, _, _ in subjects)


def _wait_words(seconds: int) -> str:
    if seconds <= 90:
        return trn(
            "Too many tries. Wait {n} second, then try again.",
            "Too many tries. Wait {n} seconds, then try again.",
            seconds,
        )
    return tr("Too many tries. Wait {minutes} minutes, then try again.", minutes=math.ceil(seconds / 60))
