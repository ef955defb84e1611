"""Sign-ins that end and are listed, second factors, and sign-ins by a company's provider"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    with op.batch_alter_table("sign_in") as batch:
        batch.add_column(sa.Column("last_at", sa.DateTime(timezone=True), nullable=True))
        batch.add_column(sa.Column("device", sa.String(), nullable=False, server_default=""))
    op.create_table(
        "second_factor",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("secret", sa.String(), nullable=False),
        sa.Column("credential", sa.String(), nullable=True),
        sa.Column("counter", sa.BigInteger(), nullable=False),
        sa.Column("proven", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("credential"),
    )
    op.create_index("ix_second_factor_person_id", "second_factor", ["person_id"])
    op.create_table(
        "recovery_code",
        sa.Column("code_sha256", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("code_sha256"),
    )
    op.create_index("ix_recovery_code_person_id", "recovery_code", ["person_id"])
    op.create_table(
        "challenge",
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("sha256"),
    )
    op.create_index("ix_challenge_ends_at", "challenge", ["ends_at"])
    op.create_table(
        "company_sign_in",
        sa.Column("issuer", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("issuer", "subject"),
    )
    op.create_index("ix_company_sign_in_person_id", "company_sign_in", ["person_id"])
