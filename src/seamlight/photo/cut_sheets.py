"""Target sheets that the picture's sides cut off."""

from __future__ import annotations

import numpy as np

from seamlight.photo.pose import PlaneFit
from seamlight.photo.target import PAPER_MM, SLOTS

_SIDES = ("left", "top", "right", "bottom")


def cut_off_sheets(fit: PlaneFit) -> tuple[str, ...]:
    """Each sheet that shows only some of its tags and runs out of the picture, in words, with the side."""
    said = []
    for index, sheet in enumerate(fit.sheets):
        if len(sheet.tags) >= SLOTS:
            continue
        width, height = PAPER_MM[sheet.paper]
        px = fit.piece_to_px(index, np.array([[0.0, 0], [width, 0], [width, height], [0, height]]))
        beyond = np.concatenate([-px.min(axis=0), px.max(axis=0) - fit.size_px])
        if beyond.max() > 0:
            said.append(f"target sheet {sheet.number} at its {_SIDES[int(np.argmax(beyond))]} side")
    return tuple(said)
