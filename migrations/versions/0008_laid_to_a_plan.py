"""Film laid to a plan and the placing day: layouts, orders, plans, weather and thickness readings"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def _noun(name: str, of: str = "") -> None:
    """A noun's table; `of`: the kind of thing it belongs to, with a column of that thing's id."""
    column = f"{of}_id"
    op.create_table(
        name,
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        *([sa.Column(column, sa.String(), nullable=False)] if of else []),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        *([sa.ForeignKeyConstraint([column], [f"{of}.id"])] if of else []),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table(name, schema=None) as batch_op:
        for key in ("project_id", *([column] if of else [])):
            batch_op.create_index(batch_op.f(f"ix_{name}_{key}"), [key], unique=False)


def upgrade() -> None:
    _noun("layout", "sketch")
    for name in ("placing_plan", "readings", "thickness"):
        _noun(name, "zone")
    _noun("order_plan")
