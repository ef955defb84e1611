"""The same request, sent again, lands once: the phone's outbox and a double tap get the first one's reply."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime, timedelta
from typing import TypeVar

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, KeyReused, StillUnderWay
from service.domain.words.speech import tr
from service.storage.accounts import requests

Reply = tuple[int, str]
T = TypeVar("T")

ABANDONED_AFTER = timedelta(seconds=60)
KEPT_FOR = timedelta(days=90)
LONGEST_KEY = 200


def once(
    desk: Desk, person_id: str, key: str, body: bytes, respond: Callable[[], Reply]
) -> tuple[int, str, bool]:
    """`respond()` and its status and reply, or the reply kept from the first time (then the last is True).

    `body` is everything that makes two requests the same one: method, path and body. `respond` acts on this
    desk, so that its effect and the kept reply are one transaction. When it raises, nothing is kept and the
    same key may be tried again. KeyReused: same key, another body. StillUnderWay: the first is not done yet.
    """
    return once_prepared(desk, person_id, key, body, nothing, lambda _: respond())


def nothing() -> None:
    """What `once_prepared` is given where there is nothing to prepare."""


def once_prepared(
    desk: Desk,
    person_id: str,
    key: str,
    body: bytes,
    prepare: Callable[[], T],
    respond: Callable[[T], Reply],
) -> tuple[int, str, bool]:
    """As `once`, with the slow part first: `prepare()` runs with no transaction open (reading an upload),
    and what it made is handed to `respond`. It is not run when the reply is there already.

    So that a second sending sees the first while that prepares, the turn is taken in a transaction of its
    own. With `nothing` to prepare it is taken in the transaction of the effect: whoever comes meanwhile waits
    for that in either case, and a crash leaves no turn behind.
    """
    if not key or len(key) > LONGEST_KEY or not key.isprintable():
        told = tr("An Idempotency-Key is 1 to {most} printable characters.", most=LONGEST_KEY)
        raise BadInput(told, fields={"Idempotency-Key": told})
    token, body_sha256 = secrets.token_hex(16), hashlib.sha256(body).hexdigest()
    if prepare is nothing:

        def at_once(session: Session) -> Reply:
            status, reply = respond(prepare())
            requests.answer(session, person_id, key, status, reply)
            return status, reply

        return _in_turn(desk, person_id, key, body_sha256, token, at_once)
    kept = _reserve(desk, person_id, key, body_sha256, token)
    if kept is not None:
        return (*kept, True)
    try:
        made = prepare()
        with desk.writing() as session:
            mine = requests.find(session, person_id, key)
            if mine is None or mine.token != token:  # taken over while we prepared: the effect is theirs
                raise StillUnderWay
            status, reply = respond(made)
            requests.answer(session, person_id, key, status, reply)
    except BaseException:
        with desk.writing() as session:
            requests.give_up(session, person_id, key, token)
        raise
    return status, reply, False


def _reserve(desk: Desk, person_id: str, key: str, body_sha256: str, token: str) -> Reply | None:
    """Take the turn in a short transaction of its own, seen by a second sending; or the kept reply."""
    status, reply, again = _in_turn(desk, person_id, key, body_sha256, token, lambda _: (0, ""))
    return (status, reply) if again else None


def _in_turn(
    desk: Desk, person_id: str, key: str, body_sha256: str, token: str, act: Callable[[Session], Reply]
) -> tuple[int, str, bool]:
    """Take the turn and act, in one transaction; or the kept reply, and then the last is True."""
    for _ in range(2):
        with suppress(_CameIn), desk.writing() as session:
            kept = _look(session, person_id, key, body_sha256, token, desk.clock())
            return (*act(session), False) if kept is None else (*kept, True)
    raise StillUnderWay


class _CameIn(Exception):
    """The same key came in between our look and our insert: looked for again, it is there to see."""


def _look(
    session: Session, person_id: str, key: str, body_sha256: str, token: str, now: datetime
) -> Reply | None:
    requests.forget(session, now - KEPT_FOR)
    found = requests.find(session, person_id, key)
    if found is None:
        try:
            requests.reserve(session, person_id, key, body_sha256, token, now)
        except requests.KeyTaken:
            raise _CameIn from None
        return None
    if found.body_sha256 != body_sha256:
        raise KeyReused
    if found.status is not None:
        return found.status, found.reply or ""
    if now - found.at <= ABANDONED_AFTER:
        raise StillUnderWay
    requests.take_over(session, person_id, key, token, now)
    return None
