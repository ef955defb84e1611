"""What an action needs from outside: the database, the blobs, the clock, new ids. One Desk a request."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from sqlmodel import Session

from service.history.facts.entries import FromPhone
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database


def utc_now() -> datetime:
    return datetime.now(UTC)


def random_id() -> str:
    """80 random bits: ids tell nothing and cannot be guessed, and permission never rests on that."""
    return secrets.token_hex(10)


@dataclass(frozen=True, slots=True)
class Authority:
    """Who gives timestamps (RFC 3161): where it is asked, and the PEM of its certificates up to the root."""

    url: str
    chain: bytes


@dataclass
class Desk:
    """`authority`: who gives timestamps, where the service is told of any. `phone`: for a request that
    waited on a phone, what the phone says of it. `writing()` joins the transaction
    that is already open on this desk, so that actions can be made one. `only`: the project that whoever is
    signed in by a crew's code sees, and no other; lookups read it (`storage/history/seen.py`). `asks_factor`:
    project managers and inspectors sign in with a second factor here."""

    database: Database
    blobs: Blobs
    clock: Callable[[], datetime] = utc_now
    new_id: Callable[[], str] = random_id
    authority: Authority | None = None
    phone: FromPhone | None = None
    only: str = ""
    asks_factor: bool = False
    _session: Session | None = field(default=None, repr=False)

    def fresh(self, phone: FromPhone | None = None) -> Desk:
        """A desk of one's own on the same database: desks are never shared between requests."""
        return replace(self, phone=phone, only="", _session=None)

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One short write transaction, committed before anyone is told; nested calls join it."""
        if self._session is not None:
            yield self._session
            return
        with self.database.writing() as session:
            session.info["only"] = self.only
            self._session = session
            try:
                yield session
            finally:
                self._session = None

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One consistent view; inside a write, that write's own."""
        if self._session is not None:
            yield self._session
            return
        with self.database.reading() as session:
            session.info["only"] = self.only
            yield session
