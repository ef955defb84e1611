"""Evidence: the history's Merkle tree, its signed checkpoints, names by salted hash, ready lists by link"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

_KEPT = ("tree_node", "checkpoint")


def upgrade() -> None:
    op.add_column("project", sa.Column("peaks", sa.LargeBinary(), nullable=True))
    op.add_column("project", sa.Column("note", sa.String(), nullable=True))
    op.add_column("project", sa.Column("key", sa.String(), nullable=True))
    op.create_table(
        "tree_node",
        _project(),
        sa.Column("level", sa.Integer(), nullable=False),
        sa.Column("place", sa.BigInteger(), nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.PrimaryKeyConstraint("project_id", "level", "place"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "checkpoint",
        _project(),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.PrimaryKeyConstraint("project_id", "size"),
    )
    op.create_table(
        "naming",
        _project(),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("name_sha256", sa.String(), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("project_id", "person_id", "name_sha256"),
    )
    op.create_index("ix_naming_person_id", "naming", ["person_id"])
    op.create_table(
        "ready_link",
        sa.Column("id", sa.String(), nullable=False),
        _project(),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("token_sha256", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_sha256"),
    )
    op.create_index("ix_ready_link_project_id", "ready_link", ["project_id"])
    _only_grow()


def _project() -> sa.Column[str]:
    return sa.Column("project_id", sa.String(), nullable=False)


def _only_grow() -> None:
    """What was signed, and what proofs are made of, is never updated or deleted."""
    if op.get_bind().dialect.name != "sqlite":
        for table in _KEPT:
            op.execute(
                f"""CREATE TRIGGER {table}_never_changes BEFORE UPDATE OR DELETE OR TRUNCATE ON {table}
                    FOR EACH STATEMENT EXECUTE FUNCTION entry_is_append_only()"""
            )
        return
    for table in _KEPT:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"""CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table}
                    BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END"""
            )
