"""Labels are one whatever their case and spaces; the figures a rack is sorted by have their tables."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add `pair.label_key`, filled from the labels, and the tables of figures."""
    op.add_column("pair", sa.Column("label_key", sa.String(), nullable=True))
    _fill_keys()
    with op.batch_alter_table("pair", table_kwargs={"sqlite_autoincrement": True}) as pair:
        pair.alter_column("label_key", existing_type=sa.String(), nullable=False)
        pair.drop_constraint("uq_pair_label", type_="unique")
        pair.create_unique_constraint("uq_pair_label_key", ["label_key"])
    op.create_table(
        "pair_figure",
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("spare_mm", sa.Double(), nullable=True),
        sa.Column("lines_per_inch", sa.Double(), nullable=True),
        sa.Column("length_mm", sa.Double(), nullable=True),
        sa.Column("width_mm", sa.Double(), nullable=True),
        sa.Column("grade", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_pair_figure_pair_id"),
        sa.PrimaryKeyConstraint("pair_id", name="pk_pair_figure"),
    )
    op.create_index("ix_pair_figure_spare_mm", "pair_figure", ["spare_mm"])
    op.create_index("ix_pair_figure_lines_per_inch", "pair_figure", ["lines_per_inch"])
    op.create_table(
        "pair_fit",
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("outline", sa.String(), nullable=False),
        sa.Column("fits", sa.Boolean(), nullable=False),
        sa.Column("spare_mm", sa.Double(), nullable=True),
        sa.Column("reading_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name="fk_pair_fit_pair_id"),
        sa.ForeignKeyConstraint(["reading_id"], ["reading.id"], name="fk_pair_fit_reading_id"),
        sa.PrimaryKeyConstraint("pair_id", "outline", name="pk_pair_fit"),
    )
    op.create_index("ix_pair_fit_reading_id", "pair_fit", ["reading_id"])


def _fill_keys() -> None:
    """Where two labels differed by case alone, the later one's key gets its number behind it."""
    connection = op.get_bind()
    pair = sa.table("pair", sa.column("id"), sa.column("label"), sa.column("label_key"))
    taken: set[str] = set()
    for number, label in connection.execute(sa.select(pair.c.id, pair.c.label).order_by(pair.c.id)).all():
        key = "".join(label.split()).casefold()
        key = f"{key}~{number}" if key in taken else key
        taken.add(key)
        connection.execute(pair.update().where(pair.c.id == number).values(label_key=key))
