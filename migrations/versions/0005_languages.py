"""Each person's language, for every phone they sign in on and for what is sent to them"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.add_column("person", sa.Column("language", sa.String(), nullable=False, server_default=""))
