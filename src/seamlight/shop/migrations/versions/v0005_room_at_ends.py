"""The room at an outline's ends stands beside that at its sides; whose room a pair's best figure is."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

FIT = sa.table(
    "pair_fit",
    *(sa.column(name) for name in ("pair_id", "outline", "spare_mm", "end_spare_mm", "reading_id")),
)
FIGURE = sa.table("pair_figure", *(sa.column(name) for name in ("pair_id", "spare_mm", "spare_outline")))
READING = sa.table("reading", sa.column("id"), sa.column("document", sa.JSON()))
CHOICE = sa.table(
    "choice",
    sa.column("pair_id"),
    sa.column("deleted_at"),
    sa.column("outline", sa.JSON()),
    sa.column("document", sa.JSON()),
)


def upgrade() -> None:
    """Add the columns, filled from the documents that the short figures repeat."""
    op.add_column("pair_fit", sa.Column("end_spare_mm", sa.Double(), nullable=True))
    op.add_column("pair_figure", sa.Column("spare_outline", sa.String(), nullable=True))
    connection = op.get_bind()
    best: dict[int, tuple[float, str]] = {}
    laid = sa.select(FIT, READING.c.document).join(READING, READING.c.id == FIT.c.reading_id)
    for row in connection.execute(laid).all():
        ends = _first(row.document).get("end_spare_mm")
        here = (FIT.c.pair_id == row.pair_id) & (FIT.c.outline == row.outline)
        connection.execute(FIT.update().where(here).values(end_spare_mm=ends))
        if row.spare_mm is not None:
            room = row.spare_mm if ends is None else min(row.spare_mm, ends)
            best[row.pair_id] = max(best.get(row.pair_id, (room, row.outline)), (room, row.outline))
    for row in connection.execute(sa.select(CHOICE).where(CHOICE.c.deleted_at.is_(None))).all():
        spare, ends = row.document.get("spare_mm"), row.document.get("end_spare_mm")
        if spare is not None:
            named = str(row.outline.get("name") or row.outline.get("file") or "")
            best[row.pair_id] = (spare if ends is None else min(spare, ends), named)
    for pair_id, (room, outline) in best.items():
        values = {"spare_mm": room, "spare_outline": outline}
        connection.execute(FIGURE.update().where(FIGURE.c.pair_id == pair_id).values(**values))


def _first(document: dict[str, Any]) -> dict[str, Any]:
    found: list[dict[str, Any]] = document.get("openings") or [{}]
    return found[0]
