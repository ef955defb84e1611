"""The first tables"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("password_hash", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("person", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_person_email"), ["email"], unique=True)

    op.create_table(
        "project",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "request",
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("body_sha256", sa.String(), nullable=False),
        sa.Column("token", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("reply", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("person_id", "key"),
    )
    with op.batch_alter_table("request", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_request_at"), ["at"], unique=False)

    op.create_table(
        "try",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("try", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_try_at"), ["at"], unique=False)
        batch_op.create_index(batch_op.f("ix_try_subject"), ["subject"], unique=False)

    op.create_table(
        "entry",
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("type", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=True),
        sa.Column("tag", sa.String(), nullable=True),
        sa.Column("subject_kind", sa.String(), nullable=False),
        sa.Column("subject_id", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("leaf", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.PrimaryKeyConstraint("project_id", "seq"),
    )
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.create_index("entry_tag", ["project_id", "tag"], unique=False)
        batch_op.create_index("entry_zone", ["project_id", "zone_id", "seq"], unique=False)
        batch_op.create_index(batch_op.f("ix_entry_subject_id"), ["subject_id"], unique=False)

    op.create_table(
        "invitation",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("token_sha256", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_sha256"),
    )
    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_invitation_project_id"), ["project_id"], unique=False)

    op.create_table(
        "member",
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["id"],
            ["person.id"],
        ),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.PrimaryKeyConstraint("project_id", "id"),
    )
    with op.batch_alter_table("member", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_member_id"), ["id"], unique=False)

    op.create_table(
        "reset",
        sa.Column("token_sha256", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["person.id"],
        ),
        sa.PrimaryKeyConstraint("token_sha256"),
    )
    with op.batch_alter_table("reset", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_reset_person_id"), ["person_id"], unique=False)

    op.create_table(
        "sign_in",
        sa.Column("token_sha256", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["person.id"],
        ),
        sa.PrimaryKeyConstraint("token_sha256"),
    )
    with op.batch_alter_table("sign_in", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sign_in_person_id"), ["person_id"], unique=False)

    op.create_table(
        "sketch",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("sketch", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sketch_project_id"), ["project_id"], unique=False)

    op.create_table(
        "verdict",
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.Column("clear", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.PrimaryKeyConstraint("project_id", "seq"),
    )
    op.create_table(
        "zone",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("sketch_id", sa.String(), nullable=False),
        sa.Column("letter", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["sketch_id"],
            ["sketch.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("project_id", "letter"),
    )
    with op.batch_alter_table("zone", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_zone_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_zone_sketch_id"), ["sketch_id"], unique=False)

    op.create_table(
        "defect",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("sketch_id", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.Column("tag", sa.String(), nullable=False),
        sa.Column("x", sa.BigInteger(), nullable=False),
        sa.Column("y", sa.BigInteger(), nullable=False),
        sa.Column("reach_nm", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["sketch_id"],
            ["sketch.id"],
        ),
        sa.ForeignKeyConstraint(
            ["zone_id"],
            ["zone.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("project_id", "tag"),
    )
    with op.batch_alter_table("defect", schema=None) as batch_op:
        batch_op.create_index("defect_place", ["sketch_id", "x", "y"], unique=False)
        batch_op.create_index(batch_op.f("ix_defect_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_defect_zone_id"), ["zone_id"], unique=False)

    op.create_table(
        "hold",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["zone_id"],
            ["zone.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("hold", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_hold_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_hold_zone_id"), ["zone_id"], unique=False)

    op.create_table(
        "photo",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["zone_id"],
            ["zone.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photo_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_subject"), ["subject"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_zone_id"), ["zone_id"], unique=False)

    op.create_table(
        "release",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["zone_id"],
            ["zone.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("release", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_release_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_release_zone_id"), ["zone_id"], unique=False)

    op.create_table(
        "wall",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("sketch_id", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["sketch_id"],
            ["sketch.id"],
        ),
        sa.ForeignKeyConstraint(
            ["zone_id"],
            ["zone.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("wall", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_wall_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_wall_sketch_id"), ["sketch_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_wall_zone_id"), ["zone_id"], unique=False)

    op.create_table(
        "patch",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("project_id", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("defect_id", sa.String(), nullable=False),
        sa.Column("zone_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["defect_id"],
            ["defect.id"],
        ),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
        ),
        sa.ForeignKeyConstraint(
            ["zone_id"],
            ["zone.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("patch", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_patch_defect_id"), ["defect_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_patch_project_id"), ["project_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_patch_zone_id"), ["zone_id"], unique=False)

    op.create_table(
        "patch_mark",
        sa.Column("patch_id", sa.String(), nullable=False),
        sa.Column("defect_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["defect_id"],
            ["defect.id"],
        ),
        sa.ForeignKeyConstraint(
            ["patch_id"],
            ["patch.id"],
        ),
        sa.PrimaryKeyConstraint("patch_id", "defect_id"),
    )
    with op.batch_alter_table("patch_mark", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_patch_mark_defect_id"), ["defect_id"], unique=False)
