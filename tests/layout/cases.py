"""Leaves typed in by hand, and the half outlines that the trade's cases were computed with."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import ezdxf
import numpy as np

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import Flaw, FlawKind
from seamlight.layout.opening import Layout, LayoutSettings
from seamlight.layout.openings import lay_out
from seamlight.layout.pair import Leaf
from seamlight.outline import named, names
from seamlight.outline.shape import Outline


def case_outlines(data: Path) -> dict[str, Outline]:
    """The eight half outlines by name; their zones are those of the generic sizes."""
    return {
        name: _case_outline(data / "outlines" / f"{name.replace(' ', '-')}-half.dxf", name)
        for name in names()
    }


def _case_outline(path: Path, name: str) -> Outline:
    (half,) = ezdxf.readfile(path).modelspace()
    points = np.array([(x, -y) for x, y in half.get_points("xy")])
    points[[0, -1], 0] = 0.0
    return Outline(name, points, named(name).zones)


def rectangle(width_mm: float, length_mm: float) -> np.ndarray:
    return np.array([[0.0, 0.0], [width_mm, 0.0], [width_mm, length_mm], [0.0, length_mm]])


def round_flaw(
    x_mm: float, y_mm: float, diameter_mm: float, kind: FlawKind = "knot", sure: float = 1.0
) -> Flaw:
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    ring = diameter_mm / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1) + (x_mm, y_mm)
    return Flaw(kind, ring, sure)


def graded_field(width_mm: float, length_mm: float, left_lpi: float, right_lpi: float) -> GrainField:
    """Straight grain whose lines per inch run evenly from the left edge to the right."""
    x, y = np.arange(0.0, width_mm + 1, 5.0), np.arange(0.0, length_mm + 1, 5.0)
    lines = np.interp(x, [0, width_mm], [left_lpi, right_lpi])
    spacing = np.tile(25.4 / lines, (len(y), 1))
    return GrainField(x, y, np.zeros_like(spacing), spacing, np.ones_like(spacing))


def plain_leaf(
    width_mm: float, length_mm: float, flaws: Sequence[Flaw] = (), field: GrainField | None = None
) -> Leaf:
    return Leaf(rectangle(width_mm, length_mm), tuple(flaws), field=field)


def laid(leaf: Leaf, outline: Outline, offered: Sequence[Outline] = (), **settings: object) -> Layout:
    """A leaf with its mirror for a partner."""
    return lay_out(leaf, None, None, outline, LayoutSettings(**settings), smaller=offered)  # type: ignore[arg-type]
