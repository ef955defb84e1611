"""Requests that must land once: reserved before their effect, their reply kept with it at once."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.storage.tables.tables import RequestRow

__all__ = [
    "Kept",
    "KeyTaken",
    "answer",
    "find",
    "forget",
    "forget_person",
    "give_up",
    "put_in_place",
    "reserve",
    "take_over",
]

KeyTaken = IntegrityError  # another transaction has put the same key in first


@dataclass(frozen=True, slots=True)
class Kept:
    """A request as kept. `status` is None while it is under way; `token` names whose turn it is."""

    body_sha256: str
    token: str
    at: datetime
    status: int | None
    reply: str | None


def find(session: Session, person_id: str, key: str) -> Kept | None:
    """The request under this key, its row locked until the transaction ends."""
    row = _row(session, person_id, key)
    return None if row is None else Kept(row.body_sha256, row.token, row.at, row.status, row.reply)


def reserve(session: Session, person_id: str, key: str, body_sha256: str, token: str, now: datetime) -> None:
    """KeyTaken when the key has a row already."""
    session.add(RequestRow(person_id=person_id, key=key, body_sha256=body_sha256, token=token, at=now))
    session.flush()


def take_over(session: Session, person_id: str, key: str, token: str, now: datetime) -> None:
    """The turn passes to this token: whoever held the one before finds it gone and does nothing."""
    row = _row(session, person_id, key)
    assert row is not None
    row.token, row.at = token, now
    session.add(row)
    session.flush()


def answer(session: Session, person_id: str, key: str, status: int, reply: str) -> None:
    row = _row(session, person_id, key)
    assert row is not None
    row.status, row.reply = status, reply
    session.add(row)
    session.flush()


def give_up(session: Session, person_id: str, key: str, token: str) -> None:
    """The effect did not come about: the key is free again, unless somebody else has the turn by now."""
    mine = (
        col(RequestRow.person_id) == person_id,
        col(RequestRow.key) == key,
        col(RequestRow.token) == token,
    )
    session.execute(delete(RequestRow).where(*mine, col(RequestRow.status).is_(None)))


def forget(session: Session, before: datetime) -> None:
    session.execute(delete(RequestRow).where(col(RequestRow.at) < before))


def forget_person(session: Session, person_id: str) -> None:
    """Everything kept of this person's own requests."""
    session.execute(delete(RequestRow).where(col(RequestRow.person_id) == person_id))


def put_in_place(session: Session, texts: Mapping[str, str]) -> None:
    """In every reply that is kept to be told again, other texts in place of these."""
    for old, new in texts.items():
        told, instead = (json.dumps(text, ensure_ascii=False) for text in (old, new))
        wanted = select(RequestRow).where(col(RequestRow.reply).contains(told, autoescape=True))
        for row in session.exec(wanted):
            row.reply = (row.reply or "").replace(told, instead)
            session.add(row)
    session.flush()


def _row(session: Session, person_id: str, key: str) -> RequestRow | None:
    wanted = select(RequestRow).where(RequestRow.person_id == person_id, RequestRow.key == key)
    return session.exec(wanted.with_for_update()).first()
