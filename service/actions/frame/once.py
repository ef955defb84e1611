"""The same request, sent again, lands once: the phone's outbox and a double tap get the first one's reply."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from datetime import timedelta
from typing import TypeVar

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
    return once_prepared(desk, person_id, key, body, lambda: None, lambda _: respond())


def once_prepared(
    desk: Desk,
    person_id: str,
    key: str,
    body: bytes,
    prepare: Callable[[], T],
    respond: Callable[[T], Reply],
) -> tuple[int, str, bool]:
    """As `once`, with the slow part first: `prepare()` runs with no transaction open (reading an upload),
    and what it made is handed to `respond`. It is not run when the reply is there already."""
    if not key or len(key) > LONGEST_KEY or not key.isprintable():
        told = tr("An Idempotency-Key is 1 to {most} printable characters.", most=LONGEST_KEY)
        raise BadInput(told, fields={"Idempotency-Key": told})
    token = secrets.token_hex(16)
    kept = _reserve(desk, person_id, key, hashlib.sha256(body).hexdigest(), token)
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
    try:
        return _look(desk, person_id, key, body_sha256, token)
    except requests.KeyTaken:  # the same key came in between our look and our insert; now it is there to see
        return _look(desk, person_id, key, body_sha256, token)


def _look(desk: Desk, person_id: str, key: str, body_sha256: str, token: str) -> Reply | None:
    now = desk.clock()
    with desk.writing() as session:
        requests.forget(session, now - KEPT_FOR)
        found = requests.find(session, person_id, key)
        if found is None:
            requests.reserve(session, person_id, key, body_sha256, token, now)
            return None
        if found.body_sha256 != body_sha256:
            raise KeyReused
        if found.status is not None:
            return found.status, found.reply or ""
        if now - found.at <= ABANDONED_AFTER:
            raise StillUnderWay
        requests.take_over(session, person_id, key, token, now)
        return None
