"""Classes and students have a version and can be deleted and brought back, as pairs and builds can."""

from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

from seamlight.shop.times import UtcTime

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TABLES = (("class_", "class"), ("student", "student"))
MOMENT = UtcTime()
HISTORY = sa.table(
    "history",
    *(sa.column(name) for name in ("id", "subject", "subject_id", "what", "version", "by")),
    sa.column("at", MOMENT),
    sa.column("after", sa.JSON()),
)


def upgrade() -> None:
    """Add the columns, filled from the history that both had from the start."""
    for table, subject in TABLES:
        op.add_column(table, sa.Column("version", sa.Integer(), nullable=True))
        for name in ("created_at", "changed_at", "deleted_at"):
            op.add_column(table, sa.Column(name, MOMENT, nullable=True))
        _fill(table, subject)
        with op.batch_alter_table(table, table_kwargs={"sqlite_autoincrement": True}) as rows:
            rows.alter_column("version", existing_type=sa.Integer(), nullable=False)
            for name in ("created_at", "changed_at"):
                rows.alter_column(name, existing_type=MOMENT, nullable=False)


def _fill(table: str, subject: str) -> None:
    """Number each one's lines of history 1, 2, ...; the last is its version, as it is from now on."""
    connection = op.get_bind()
    rows = sa.table(
        table,
        *(sa.column(name) for name in ("id", "name", "version")),
        sa.column("created_at", MOMENT),
        sa.column("changed_at", MOMENT),
    )
    for number, name in connection.execute(sa.select(rows.c.id, rows.c.name).order_by(rows.c.id)).all():
        told = sa.select(HISTORY.c.id, HISTORY.c.at).where(
            HISTORY.c.subject == subject, HISTORY.c.subject_id == number
        )
        lines = connection.execute(told.order_by(HISTORY.c.id)).all()
        for version, (line, _) in enumerate(lines, 1):
            connection.execute(HISTORY.update().where(HISTORY.c.id == line).values(version=version))
        times = [at for _, at in lines] or [_made_now(connection, subject, number, name)]
        values = {"version": max(1, len(lines)), "created_at": times[0], "changed_at": times[-1]}
        connection.execute(rows.update().where(rows.c.id == number).values(**values))


def _made_now(connection: sa.Connection, subject: str, number: int, name: str) -> datetime:
    """A line for one without any; its time is that of this step."""
    at = datetime.now(UTC)
    said: dict[str, Any] = {"subject": subject, "subject_id": number, "what": "made", "version": 1}
    connection.execute(HISTORY.insert().values(**said, by="seamlight", at=at, after={"name": name}))
    return at
