"""Brings a database to the present version: Alembic, on SQLite and PostgreSQL alike."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlmodel import Session

from service.storage.doors.database import Database
from service.storage.upkeep.rebuild import rebuild

MIGRATIONS = Path(__file__).parents[3] / "migrations"


def migrate(database: Database) -> None:
    """Run every migration that the database has not seen. Safe to call at each start.

    A database of an earlier program also has its rows worked out anew from its history, in the same
    transaction: what a noun says may have grown.
    """
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.engine.begin() as connection:
        before = MigrationContext.configure(connection).get_current_revision()
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if before not in (None, MigrationContext.configure(connection).get_current_revision()):
            with Session(connection, join_transaction_mode="create_savepoint") as session, session.begin():
                rebuild(session)
