"""Runs the migrations on the connection that the service hands over."""

from alembic import context
from sqlmodel import SQLModel

import service.storage.tables.calendar
import service.storage.tables.factors
import service.storage.tables.placing
import service.storage.tables.tables
import service.storage.tables.told  # noqa: F401 - all fill the metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
