"""Sign-ins by a code on a sheet, and who is told what: wishes, turns, what was sent to whom, phones"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.create_table(
        "crew_code",
        _id(),
        _project(),
        _person(),
        sa.Column("token_sha256", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        _time("made_at"),
        _time("ends_at"),
        _time("used_at", nullable=True),
        sa.Column("sign_in_sha256", sa.String(), nullable=True),
        _time("ended_at", nullable=True),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_sha256"),
        sa.UniqueConstraint("sign_in_sha256"),
    )
    op.create_index("ix_crew_code_project_id", "crew_code", ["project_id"])
    op.create_index("ix_crew_code_person_id", "crew_code", ["person_id"])
    op.create_table(
        "told_wish",
        _project(),
        _person(),
        sa.Column("zones", sa.String(), nullable=False),
        sa.Column("events", sa.String(), nullable=False),
        sa.Column("ways", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("project_id", "person_id"),
    )
    op.create_table(
        "told_state",
        sa.Column("zone_id", sa.String(), nullable=False),
        _project(),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.PrimaryKeyConstraint("zone_id"),
    )
    op.create_index("ix_told_state_project_id", "told_state", ["project_id"])
    op.create_table(
        "told_head",
        _project(),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.PrimaryKeyConstraint("project_id"),
    )
    _told()


def _told() -> None:
    op.create_table(
        "told",
        _id(),
        _project(),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.Column("event", sa.String(), nullable=False),
        sa.Column("turn", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("reasons", sa.Integer(), nullable=False),
        _time("at"),
        sa.ForeignKeyConstraint(["project_id"], ["project.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("zone_id", "event", "turn"),
    )
    op.create_table(
        "telling",
        _id(),
        sa.Column("told_id", sa.String(), nullable=False),
        _person(),
        sa.Column("way", sa.String(), nullable=False),
        sa.Column("phone_id", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        _time("next_at"),
        sa.ForeignKeyConstraint(["told_id"], ["told.id"]),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("told_id", "person_id", "way", "phone_id"),
    )
    op.create_index("telling_due", "telling", ["state", "next_at"])
    op.create_index("telling_read", "telling", ["person_id", "way", "state"])
    op.create_table(
        "push_phone",
        _id(),
        _person(),
        sa.Column("endpoint", sa.String(), nullable=False),
        sa.Column("p256dh", sa.String(), nullable=False),
        sa.Column("auth", sa.String(), nullable=False),
        _time("made_at"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("endpoint"),
    )
    op.create_index("ix_push_phone_person_id", "push_phone", ["person_id"])


def _id() -> sa.Column[str]:
    return sa.Column("id", sa.String(), nullable=False)


def _project() -> sa.Column[str]:
    return sa.Column("project_id", sa.String(), nullable=False)


def _person() -> sa.Column[str]:
    return sa.Column("person_id", sa.String(), nullable=False)


def _time(name: str, nullable: bool = False) -> sa.Column[object]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=nullable)
