"""Requests that must land once: reserved before their effect, their reply kept with it at once."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, delete
from sqlalchemy import select as columns
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.storage.tables.tables import RequestRow, table_of

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


# Columns and no row objects, put together once: most requests that change anything come with a key.
_TABLE = table_of(RequestRow)
_HERE = (_TABLE.c.person_id == bindparam("person"), _TABLE.c.key == bindparam("named"))
_FOUND = (
    columns(_TABLE.c.body_sha256, _TABLE.c.token, _TABLE.c.at, _TABLE.c.status, _TABLE.c.reply)
    .where(*_HERE)
    .with_for_update()
)
_TAKEN = _TABLE.update().where(*_HERE).values(token=bindparam("new_token"), at=bindparam("now"))
_ANSWERED = _TABLE.update().where(*_HERE).values(status=bindparam("told"), reply=bindparam("words"))
_FORGOTTEN = _TABLE.delete().where(_TABLE.c.at < bindparam("before"))


def find(session: Session, person_id: str, key: str) -> Kept | None:
    """The request under this key, its row locked until the transaction ends."""
    row = session.connection().execute(_FOUND, _named(person_id, key)).first()
    return None if row is None else Kept(*row)


def reserve(session: Session, person_id: str, key: str, body_sha256: str, token: str, now: datetime) -> None:
    """KeyTaken when the key has a row already."""
    told = {"person_id": person_id, "key": key, "body_sha256": body_sha256, "token": token, "at": now}
    session.connection().execute(_TABLE.insert(), told)


def take_over(session: Session, person_id: str, key: str, token: str, now: datetime) -> None:
    """The turn passes to this token: whoever held the one before finds it gone and does nothing."""
    session.connection().execute(_TAKEN, {**_named(person_id, key), "new_token": token, "now": now})


def answer(session: Session, person_id: str, key: str, status: int, reply: str) -> None:
    session.connection().execute(_ANSWERED, {**_named(person_id, key), "told": status, "words": reply})


def give_up(session: Session, person_id: str, key: str, token: str) -> None:
    """The effect did not come about: the key is free again, unless somebody else has the turn by now."""
    mine = (
        col(RequestRow.person_id) == person_id,
        col(RequestRow.key) == key,
        col(RequestRow.token) == token,
    )
    session.execute(delete(RequestRow).where(*mine, col(RequestRow.status).is_(None)))


def forget(session: Session, before: datetime) -> None:
    session.connection().execute(_FORGOTTEN, {"before": before})


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


def _named(person_id: str, key: str) -> dict[str, str]:
    return {"person": person_id, "named": key}
