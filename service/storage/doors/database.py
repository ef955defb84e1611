"""The engine and its two doors: `reading()` and `writing()`. Nothing else opens a transaction.

SQLite by default, in WAL mode with FULL sync, every write in BEGIN IMMEDIATE behind one lock in the process
(the library's own busy handler polls and is unfair). PostgreSQL where LAPTIGHT_DATABASE_URL names one.
"""

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine.interfaces import DBAPIConnection, ExceptionContext
from sqlmodel import Session

from service.storage.doors.keys import Keyring

# Before 3.51.3 (backported to 3.50.7 and 3.44.6) two connections writing and checkpointing in WAL mode can
# lose commits ("WAL-reset bug", SQLite release notes).
SQLITE_FLOOR = (3, 51, 3)
# Several statements of one page must see one moment: SQLite's BEGIN does, PostgreSQL's has to be told.
_LOOKING: dict[str, Any] = {"writing": False}
_LOOKING_ON: dict[str, Any] = {"isolation_level": "REPEATABLE READ"}
WAIT_S = 20  # for the write before ours; a write takes milliseconds, so longer is trouble
SQLITE_BACKPORTS = {(3, 50): 7, (3, 44): 6}


class WriterBusy(RuntimeError):
    """The one writer at a time did not end: an outage, never a hang."""


class TooOldSQLite(RuntimeError):
    """The SQLite library can lose commits: the service does not start on it."""


def sqlite_is_safe(version: tuple[int, ...]) -> bool:
    """True for a library that has the WAL-reset fix."""
    major_minor = version[:2]
    if major_minor in SQLITE_BACKPORTS:
        return version[2] >= SQLITE_BACKPORTS[major_minor]
    return version >= SQLITE_FLOOR


class Database:
    """One database. Sessions are handed out by the two doors only, and close with them."""

    def __init__(self, url: str, keys: Keyring) -> None:
        """`url`: SQLAlchemy's form, `sqlite:///path` or `postgresql+psycopg://...`. `keys`: what every
        history in it is signed with."""
        self.is_sqlite = url.startswith("sqlite")
        self.engine: Engine = _sqlite(url) if self.is_sqlite else _postgres(url)
        self.keys = keys
        # Round every transaction, told `reading` or `writing`, the wait for it included.
        self.followed: Callable[[str], AbstractContextManager[object]] = lambda what: nullcontext()
        self._writer = threading.Lock()
        self._quick: Any = None  # a DBAPI connection of its own, for SQLite
        self._asking = threading.Lock()

    @classmethod
    def at(cls, path: Path) -> "Database":
        """A SQLite file, with the keys in a folder beside it."""
        return cls(f"sqlite:///{path}", Keyring(path.parent / "keys"))

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One consistent view; nothing written through it is kept."""
        with self.followed("reading"), self.engine.connect() as connection:
            connection = connection.execution_options(**(_LOOKING if self.is_sqlite else _LOOKING_ON))
            with Session(connection) as session, session.begin():
                yield session
                session.rollback()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One short transaction: committed as the block ends, rolled back whole when it raises."""
        with self.followed("writing"), self._transaction() as session:
            yield session

    @contextmanager
    def _transaction(self) -> Iterator[Session]:
        if not self.is_sqlite:
            with Session(self.engine, info={"keys": self.keys}) as session, session.begin():
                yield session
            return
        if not self._writer.acquire(timeout=WAIT_S):
            raise WriterBusy("another write did not end in time")
        try:
            with self.engine.connect() as connection:
                connection = connection.execution_options(writing=True)
                with Session(connection, info={"keys": self.keys}) as session, session.begin():
                    yield session
        finally:
            self._writer.release()

    def copy_into(self, file: Path) -> None:
        """The SQLite file as of one moment, written anew into another while others read and write."""
        connection = self.engine.raw_connection()
        try:
            cursor = connection.cursor()
            cursor.execute("VACUUM INTO ?", (str(file),))
            cursor.close()
        finally:
            connection.close()

    def leave_nothing_behind(self) -> bool:
        """Write the SQLite file anew, so that nothing deleted is left in its free pages or its log.

        False where the log could not be emptied, because somebody else is reading. PostgreSQL has its own
        ways (VACUUM FULL), which belong to whoever runs it: True.
        """
        if not self.is_sqlite:
            return True
        if not self._writer.acquire(timeout=WAIT_S):
            raise WriterBusy("another write did not end in time")
        connection = self.engine.raw_connection()
        try:
            cursor = connection.cursor()
            cursor.execute("VACUUM")
            busy = cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
            cursor.close()
        finally:
            connection.close()
            self._writer.release()
        return not busy

    def ask_quickly(self, sql: str, values: Sequence[Any]) -> list[Any]:
        """Every row of one SELECT, past SQLAlchemy: what is asked before every page. SQLite alone.

        Read to its end before anybody else asks: a cursor left open would hold on to its moment.
        """
        with self._asking:
            if self._quick is None:
                lent = self.engine.raw_connection()
                self._quick = lent.driver_connection
                lent.detach()  # the pool keeps its number
            return list(self._quick.execute(sql, values).fetchall())

    def close(self) -> None:
        with self._asking:
            if self._quick is not None:
                self._quick.close()
            self._quick = None
        self.engine.dispose()


def _sqlite(url: str) -> Engine:
    from pysqlite3 import dbapi2

    if not sqlite_is_safe(dbapi2.sqlite_version_info):
        raise TooOldSQLite(f"SQLite {dbapi2.sqlite_version} can lose commits; 3.51.3 or newer is needed")
    engine = create_engine(
        url,
        module=dbapi2,
        connect_args={"timeout": 30, "check_same_thread": False},
        pool_size=40,  # one per thread of the server's pool, so that no request waits for a connection
        max_overflow=8,
        pool_timeout=5,
        hide_parameters=True,  # what a statement carries, names and hashes of secrets, is not for the log
    )

    @event.listens_for(engine, "connect")
    def _settle(connection: DBAPIConnection, _: Any) -> None:
        connection.isolation_level = None  # BEGIN is ours, below
        cursor = connection.cursor()
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "mmap_size=0"):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        writing = connection.get_execution_options().get("writing", True)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _postgres(url: str) -> Engine:
    # READ COMMITTED with the project's head row locked first in every change; see `books.lock_head`.
    engine = create_engine(
        url,
        pool_size=40,
        max_overflow=8,
        pool_timeout=5,
        isolation_level="READ COMMITTED",
        hide_parameters=True,
    )
    event.listen(engine, "handle_error", _without_values)
    return engine


def _without_values(context: ExceptionContext) -> None:
    """PostgreSQL writes the row it refuses into its complaint (DETAIL), which goes into the log, and a value
    that it cannot read into its first words (class 22). `hide_parameters` hides only what SQLAlchemy adds."""
    refused: Any = context.original_exception
    if not getattr(refused, "sqlstate", None):  # the line broke: nothing was refused
        return
    words = f"SQLSTATE {refused.sqlstate}"
    if not refused.sqlstate.startswith("22"):
        words = f"{refused.diag.message_primary} ({words})"
    refused.args = (words,)
    if context.sqlalchemy_exception is not None:
        context.sqlalchemy_exception.args = (f"({type(refused).__name__}) {words}",)
