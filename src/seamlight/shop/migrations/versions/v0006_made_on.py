"""What was said of flaws, and the choice, name the photographs that they were made on."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; of old nobody wrote down on which picture, so that they stay empty."""
    op.add_column("flaw_edit", sa.Column("made_on", sa.String(), nullable=True))
    op.add_column("flaw_edit", sa.Column("boxes", sa.JSON(none_as_null=True), nullable=True))
    op.add_column("choice", sa.Column("made_on", sa.JSON(none_as_null=True), nullable=True))
