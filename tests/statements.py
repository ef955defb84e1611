"""SQL that is put together once a process, not once for every database that a test opens.

SQLAlchemy keeps what it compiled with the engine, under the engine's dialect. A test opens a database or two
and asks each a few times, so most of its time would go into compiling what the test before it compiled.
"""

from __future__ import annotations

from pysqlite3 import dbapi2
from sqlalchemy import Engine, create_engine

from service.storage.doors import database


def share() -> None:
    """Every SQLite engine made from now on has one dialect, and with it one cache of compiled statements."""
    lender = create_engine("sqlite://", module=dbapi2)
    lender.connect().close()  # a dialect learns on its first connection what its library can do
    make = database._sqlite

    def lent(url: str) -> Engine:
        made = make(url)
        made.dialect = made.pool._dialect = lender.dialect
        made._compiled_cache = lender._compiled_cache
        return made

    database._sqlite = lent
