"""One at a time, for what no row stands for yet: nobody comes between a look and what is added after it."""

from __future__ import annotations

from sqlalchemy import text
from sqlmodel import Session

_LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended(:word, 0))")


def alone(session: Session, *words: str) -> None:
    """Until this transaction ends nobody else has any of these words. They are taken in one order, so that
    two who want the same never wait for each other. On SQLite a writer is alone anyway."""
    if session.connection().dialect.name == "postgresql":
        for word in sorted(set(words)):
            session.execute(_LOCK, {"word": word})
