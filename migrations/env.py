"""Runs the migrations on the connection that the service hands over."""

from alembic import context
from sqlmodel import SQLModel

import service.storage.tables
import service.storage.tables_calendar
import service.storage.tables_factors
import service.storage.tables_placing
import service.storage.tables_told  # noqa: F401 - all fill the metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
