"""How many flaws a person may say of one face, how finely drawn, and how far they may reach."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from seamlight.grain.edits import check_on_leaf
from seamlight.mistake import Mistake

MOST_FLAWS = 500  # said of one face; the worst boards have some tens
MOST_POINTS = 2000  # of one outline; a finger drawing for a minute makes fewer


def check_said(edits: Mapping[str, Any], width_mm: float, length_mm: float) -> None:
    """Refuse what no leaf has; whatever else is wrong with the edits, `edit_flaws` tells.

    Args:
        edits: as `seamlight.grain.edits` takes them.
        width_mm, length_mm: of the leaf, whose frame begins at its corner.

    Raises:
        Mistake: too many flaws, an outline with too many points, or one that lies beside the leaf.
    """
    count = sum(len(part) for part in edits.values() if isinstance(part, list | Mapping))
    if count > MOST_FLAWS:
        raise Mistake(
            f"{count:,} flaws are more than a leaf has",
            where="flaws",
            do=f"say up to {MOST_FLAWS}; draw one outline round many small ones",
        )
    for where, outline in _outlines(edits):
        if len(outline) > MOST_POINTS:
            raise Mistake(
                f"the outline has {len(outline):,} points",
                where=where,
                do=f"draw it with up to {MOST_POINTS:,}",
            )
        try:
            points = np.array(outline, dtype=np.float64)
        except (TypeError, ValueError):
            continue
        if points.ndim == 2 and points.shape[1] == 2 and np.isfinite(points).all() and len(points):
            check_on_leaf(points, (width_mm, length_mm), where)


def _outlines(edits: Mapping[str, Any]) -> Iterator[tuple[str, list[Any]]]:
    added, replaced = edits.get("add"), edits.get("replace")
    said = [(f"add {number}", one) for number, one in enumerate(added)] if isinstance(added, list) else []
    if isinstance(replaced, Mapping):
        said += [(f"replace {number}", one) for number, one in replaced.items()]
    for where, one in said:
        outline = one.get("outline_mm") if isinstance(one, Mapping) else None
        if isinstance(outline, list | tuple):
            yield where, list(outline)
