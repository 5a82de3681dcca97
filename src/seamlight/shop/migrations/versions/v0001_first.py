"""The first tables: wood, builds, people, and what the program itself remembers."""

import sqlalchemy as sa
from alembic import op

from seamlight.shop.times import UtcTime

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def kept_json() -> sa.JSON:
    """JSON in which nothing is NULL."""
    return sa.JSON(none_as_null=True)


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "air",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=True),
        sa.Column("rh_pct", sa.Double(), nullable=True),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_air"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_air_at", "air", ["at"])
    op.create_table(
        "class_",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_class_"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "file",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("media_type", sa.String(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=True),
        sa.Column("height_px", sa.Integer(), nullable=True),
        sa.Column("added_at", UtcTime(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_file"),
    )
    op.create_table(
        "history",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("subject_id", sa.Integer(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=True),
        sa.Column("before", kept_json(), nullable=True),
        sa.Column("after", kept_json(), nullable=True),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_history"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_history_at", "history", ["at"])
    op.create_index("ix_history_subject_subject_id", "history", ["subject", "subject_id"])
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=True),
        sa.Column("subject_id", sa.Integer(), nullable=True),
        sa.Column("payload", kept_json(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("done", sa.Integer(), nullable=False),
        sa.Column("of", sa.Integer(), nullable=True),
        sa.Column("says", sa.String(), nullable=True),
        sa.Column("asked_at", UtcTime(), nullable=False),
        sa.Column("started_at", UtcTime(), nullable=True),
        sa.Column("ended_at", UtcTime(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_job_state", "job", ["state"])
    op.create_table(
        "pair",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("species_key", sa.String(), nullable=True),
        sa.Column("species_common", sa.String(), nullable=True),
        sa.Column("species_botanical", sa.String(), nullable=True),
        sa.Column("supplier", sa.String(), nullable=True),
        sa.Column("price_minor", sa.Integer(), nullable=True),
        sa.Column("currency", sa.String(), nullable=True),
        sa.Column("bought_on", sa.Date(), nullable=True),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("lies_at", sa.String(), nullable=True),
        sa.Column("reserved_for", sa.String(), nullable=True),
        sa.Column("notes", sa.String(), nullable=True),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("grade_by_eye", sa.String(), nullable=True),
        sa.Column("scale_spec", sa.String(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcTime(), nullable=False),
        sa.Column("changed_at", UtcTime(), nullable=False),
        sa.Column("deleted_at", UtcTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_pair"),
        sa.UniqueConstraint("label", name="uq_pair_label"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_pair_kind", "pair", ["kind"])
    op.create_index("ix_pair_species_key", "pair", ["species_key"])
    op.create_index("ix_pair_stage", "pair", ["stage"])
    op.create_table(
        "setting",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("value", kept_json(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_setting"),
    )
    op.create_table(
        "wrong_try",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("from_address", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_wrong_try"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_wrong_try_at", "wrong_try", ["at"])
    op.create_table(
        "arrival",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("file_sha256", sa.String(length=64), nullable=False),
        sa.Column("upload_key", sa.String(), nullable=False),
        sa.Column("name_given", sa.String(), nullable=True),
        sa.Column("scale_spec", sa.String(), nullable=True),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("taken_at", UtcTime(), nullable=True),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["file_sha256"], ["file.sha256"], name="fk_arrival_file_sha256"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_arrival_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_arrival"),
        sa.UniqueConstraint("upload_key", name="uq_arrival_upload_key"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_arrival_file_sha256", "arrival", ["file_sha256"])
    op.create_index("ix_arrival_pair_id", "arrival", ["pair_id"])
    op.create_index("ix_arrival_state", "arrival", ["state"])
    op.create_table(
        "choice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("outline", kept_json(), nullable=False),
        sa.Column("opening", kept_json(), nullable=False),
        sa.Column("placing", kept_json(), nullable=True),
        sa.Column("settings", kept_json(), nullable=False),
        sa.Column("document", kept_json(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("deleted_at", UtcTime(), nullable=True),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_choice_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_choice"),
        sa.UniqueConstraint("pair_id", name="uq_choice_pair_id"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "flaw_edit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("leaf", sa.String(), nullable=False),
        sa.Column("edits", kept_json(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_flaw_edit_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_flaw_edit"),
        sa.UniqueConstraint("pair_id", "leaf", name="uq_flaw_edit_pair_id_leaf"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_flaw_edit_pair_id", "flaw_edit", ["pair_id"])
    op.create_table(
        "pair_photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("file_sha256", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("taken_at", UtcTime(), nullable=True),
        sa.Column("added_at", UtcTime(), nullable=False),
        sa.Column("arrival", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("deleted_at", UtcTime(), nullable=True),
        sa.ForeignKeyConstraint(["file_sha256"], ["file.sha256"], name="fk_pair_photo_file_sha256"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_pair_photo_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_pair_photo"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_pair_photo_file_sha256", "pair_photo", ["file_sha256"])
    op.create_index("ix_pair_photo_pair_id", "pair_photo", ["pair_id"])
    op.create_table(
        "planed",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("leaf", sa.String(), nullable=False),
        sa.Column("mm", sa.Double(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_planed_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_planed"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_planed_pair_id", "planed", ["pair_id"])
    op.create_table(
        "stage_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_stage_event_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_stage_event"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_stage_event_pair_id", "stage_event", ["pair_id"])
    op.create_table(
        "student",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("class_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["class_id"], ["class_.id"], name="fk_student_class_id"),
        sa.PrimaryKeyConstraint("id", name="pk_student"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_student_class_id", "student", ["class_id"])
    op.create_table(
        "weight",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("leaf", sa.String(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_weight_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_weight"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_weight_pair_id", "weight", ["pair_id"])
    op.create_table(
        "build",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("for_whom", sa.String(), nullable=True),
        sa.Column("outline", kept_json(), nullable=True),
        sa.Column("kind_wishes", kept_json(), nullable=True),
        sa.Column("want_by", sa.Date(), nullable=True),
        sa.Column("notes", sa.String(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", UtcTime(), nullable=False),
        sa.Column("changed_at", UtcTime(), nullable=False),
        sa.Column("deleted_at", UtcTime(), nullable=True),
        sa.Column("class_id", sa.Integer(), nullable=True),
        sa.Column("student_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["class_id"], ["class_.id"], name="fk_build_class_id"),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_build_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_build"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_build_class_id", "build", ["class_id"])
    op.create_index("ix_build_student_id", "build", ["student_id"])
    op.create_table(
        "device",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=True),
        sa.Column("paired_at", UtcTime(), nullable=False),
        sa.Column("seen_at", UtcTime(), nullable=True),
        sa.Column("revoked_at", UtcTime(), nullable=True),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_device_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_device"),
        sa.UniqueConstraint("token_hash", name="uq_device_token_hash"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_device_student_id", "device", ["student_id"])
    op.create_table(
        "link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=True),
        sa.Column("made_at", UtcTime(), nullable=False),
        sa.Column("expires_at", UtcTime(), nullable=False),
        sa.Column("used_at", UtcTime(), nullable=True),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_link_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_link"),
        sa.UniqueConstraint("token_hash", name="uq_link_token_hash"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_link_student_id", "link", ["student_id"])
    op.create_table(
        "assignment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("locked", sa.Boolean(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_assignment_build_id"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_assignment_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_assignment"),
        sa.UniqueConstraint("build_id", "part", name="uq_assignment_build_id_part"),
        sa.UniqueConstraint("pair_id", name="uq_assignment_pair_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_assignment_build_id", "assignment", ["build_id"])
    op.create_table(
        "clamp",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=True),
        sa.Column("build_id", sa.Integer(), nullable=True),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("glue_key", sa.String(), nullable=False),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("off_at", UtcTime(), nullable=False),
        sa.Column("work_at", UtcTime(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=True),
        sa.Column("rh_pct", sa.Double(), nullable=True),
        sa.Column("ended_at", UtcTime(), nullable=True),
        sa.Column("by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_clamp_build_id"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_clamp_pair_id"),
        sa.PrimaryKeyConstraint("id", name="pk_clamp"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_clamp_build_id", "clamp", ["build_id"])
    op.create_index("ix_clamp_pair_id", "clamp", ["pair_id"])
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=True),
        sa.Column("build_id", sa.Integer(), nullable=True),
        sa.Column("verb", sa.String(), nullable=False),
        sa.Column("document", kept_json(), nullable=False),
        sa.Column("files", kept_json(), nullable=False),
        sa.Column("says", kept_json(), nullable=False),
        sa.Column("temp_c", sa.Double(), nullable=True),
        sa.Column("rh_pct", sa.Double(), nullable=True),
        sa.Column("at", UtcTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=True),
        sa.Column("deleted_at", UtcTime(), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_reading_build_id"),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_reading_pair_id"),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_reading_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_reading"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_reading_at", "reading", ["at"])
    op.create_index("ix_reading_build_id", "reading", ["build_id"])
    op.create_index("ix_reading_pair_id", "reading", ["pair_id"])
    op.create_index("ix_reading_student_id", "reading", ["student_id"])
