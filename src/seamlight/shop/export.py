"""The shop's own data out: the rack as CSV. The whole shop as one zip is `backup`."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import Any

from sqlalchemy.orm import Session

from seamlight.shop.rack import PER_PAGE_MOST, RackQuery, RackRow, rack

OF_PAIR = (
    "id",
    "label",
    "kind",
    "species_common",
    "species_botanical",
    "stage",
    "thickness_mm",
    "supplier",
    "price",
    "currency",
    "bought_on",
    "lies_at",
    "reserved_for",
    "grade_by_eye",
    "notes",
)
OF_FIGURE = ("grade", "lines_per_inch", "spare_mm", "spare_outline", "length_mm", "width_mm")
# A cell that begins so is run as a formula by spreadsheets (OWASP, CSV injection).
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def rack_csv(session: Session, query: RackQuery | None = None) -> str:
    """Every pair that the query finds, one a line, RFC 4180; lengths in mm, money in whole units.

    Text that a spreadsheet would run as a formula gets an apostrophe before it.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow((*OF_PAIR, *OF_FIGURE))
    asked = replace(query or RackQuery(sort="label"), page=1, per_page=PER_PAGE_MOST)
    while True:
        page = rack(session, asked)
        writer.writerows(_cells(row) for row in page.rows)
        if asked.page >= page.pages:
            return text.getvalue()
        asked = replace(asked, page=asked.page + 1)


def _cells(row: RackRow) -> list[Any]:
    minor = row.pair.price_minor
    own = {"price": None if minor is None else f"{minor / 100:.2f}"}
    cells = [own[name] if name in own else getattr(row.pair, name) for name in OF_PAIR]
    cells += [getattr(row.figure, name) if row.figure else None for name in OF_FIGURE]
    return [_safe(cell) for cell in cells]


def _safe(cell: Any) -> Any:
    if isinstance(cell, float):
        return round(cell, 4)
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell
