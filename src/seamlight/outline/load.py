"""The maker's own outline from a file: a drawing, or measures."""

from __future__ import annotations

from pathlib import Path

from seamlight.outline.drawing import DrawnUnit
from seamlight.outline.drawn import load_drawing
from seamlight.outline.measures_file import load_measures
from seamlight.outline.shape import Outline

SUFFIXES = (".dxf", ".svg", ".json")


def load(path: Path | str, unit: DrawnUnit | None = None) -> Outline:
    """An outline from a DXF or SVG file or from a measures file (JSON), in the body frame.

    Args:
        path: the file.
        unit: the unit a drawing was drawn in, where it does not say or says it wrong.

    Raises:
        Mistake: what is wrong with the file, in one line.
    """
    path = Path(path)
    return load_measures(path, unit) if path.suffix.lower() == ".json" else load_drawing(path, unit)
