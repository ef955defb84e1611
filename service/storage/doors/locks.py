"""One at a time, for what no row stands for yet: nobody comes between a look and what is added after it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine, text
from sqlmodel import Session

_TRY = text("SELECT pg_try_advisory_xact_lock(hashtextextended(:word, 0))")
_LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended(:word, 0))")


def is_alone(session: Session) -> bool:
    """Whether nobody else can write while this transaction is open, as on SQLite: what it read stands."""
    return session.connection().dialect.name == "sqlite"


def alone(session: Session, *words: str) -> None:
    """Until this transaction ends nobody else has any of these words. They are taken in one order, so that
    two who want the same never wait for each other. On SQLite a writer is alone anyway."""
    if not is_alone(session):
        for word in sorted(set(words)):
            session.execute(_LOCK, {"word": word})


@contextmanager
def first_come(engine: Engine, word: str) -> Iterator[bool]:
    """Whether nobody else is at this work now: who is told True is alone at it until the block ends, and
    nobody waits. It is for work that may be done twice and need not be; on SQLite everybody is told True.

    The lock is a transaction's of its own, on a connection that is idle meanwhile: one that breaks off, with
    its process or without, frees it, and nothing is left for anybody to clear away.
    """
    if engine.dialect.name != "postgresql":
        yield True
        return
    with engine.connect() as connection:
        yield bool(connection.execute(_TRY, {"word": word}).scalar_one())
