"""Brings a database to the present version: Alembic, on SQLite and PostgreSQL alike."""

from pathlib import Path

from alembic import command
from alembic.config import Config

from service.storage.database import Database

MIGRATIONS = Path(__file__).parents[2] / "migrations"


def migrate(database: Database) -> None:
    """Run every migration that the database has not seen. Safe to call at each start."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
