"""Photos that came before the form that shows them, each its sender's own until then"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    op.create_table(
        "upload",
        sa.Column("person_id", sa.String(), sa.ForeignKey("person.id"), primary_key=True),
        sa.Column("sha256", sa.String(), primary_key=True),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("landed_at", sa.DateTime(timezone=True), nullable=True),
    )
    op.create_index("ix_upload_at", "upload", ["at"])
