"""What a form sent is remembered for some days, so that sending it again counts nothing twice."""

import sqlalchemy as sa
from alembic import op

from seamlight.shop.times import UtcTime

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "sent",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=True),
        sa.Column("at", UtcTime(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_sent"),
    )
    op.create_index("ix_sent_form", "sent", ["form"])
    op.create_index("ix_sent_at", "sent", ["at"])
