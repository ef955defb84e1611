"""Film as installed: penetrations, seams, terminations, materials and lots"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def _noun(name: str, *more: sa.Column[object], keys: tuple[sa.Constraint, ...] = ()) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        *more,
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        *keys,
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table(name, schema=None) as batch_op:
        batch_op.create_index(batch_op.f(f"ix_{name}_project_id"), ["project_id"], unique=False)


def _on_sketch(name: str) -> None:
    _noun(
        name,
        sa.Column("sketch_id", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        *(sa.Column(side, sa.BigInteger(), nullable=False) for side in ("x0", "y0", "x1", "y1")),
        sa.Column("tag", sa.String(), nullable=False),
        keys=(
            sa.ForeignKeyConstraint(["sketch_id"], ["sketch.id"]),
            sa.ForeignKeyConstraint(["zone_id"], ["zone.id"]),
            sa.UniqueConstraint("project_id", "tag"),
        ),
    )
    with op.batch_alter_table(name, schema=None) as batch_op:
        batch_op.create_index(batch_op.f(f"ix_{name}_sketch_id"), ["sketch_id"], unique=False)
        batch_op.create_index(batch_op.f(f"ix_{name}_zone_id"), ["zone_id"], unique=False)


def upgrade() -> None:
    for name in ("penetration", "seam", "termination"):
        _on_sketch(name)
    _noun("material")
    _noun(
        "lot",
        sa.Column("material_id", sa.String(), nullable=False),
        keys=(sa.ForeignKeyConstraint(["material_id"], ["material.id"]),),
    )
    with op.batch_alter_table("lot", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lot_material_id"), ["material_id"], unique=False)
