"""Lines from an SVG file, by svgelements."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import ceil
from pathlib import Path
from typing import Any

import numpy as np
import svgelements

from seamlight.mistake import Mistake
from seamlight.outline.bounds import bounded
from seamlight.outline.drawing import Drawing
from seamlight.outline.svg_size import check_svg_size
from seamlight.photo.flat import Points
from seamlight.units import MM_PER_INCH

_PPI = 96.0
_PX_MM = MM_PER_INCH / _PPI  # CSS Values and Units, 5.2: 1 px is 1/96 in
_PHYSICAL = re.compile(r"[\d.eE+-]+\s*(mm|cm|in|pt|pc|q)\s*", re.IGNORECASE)
_GUESSES = (("px (1/96 inch)", _PX_MM), ("mm", 1.0), ("cm", 10.0), ("inch", MM_PER_INCH))
_STEPS = 2500  # of a curve as long as the drawing: 0.2 mm on a body


def _sampled(segment: Any, step: float) -> Points:
    """Points of one segment without its first; ends alone for a straight one."""
    straight = isinstance(segment, svgelements.Line | svgelements.Close)
    count = 1 if straight else min(max(ceil(segment.length(error=1e-4) / step), 8), 20_000)
    return np.asarray(segment.npoint(np.linspace(0, 1, count + 1)), dtype=np.float64).reshape(-1, 2)[1:]


def _subpaths(path: Any, step: float) -> Iterator[Points]:
    line: list[Points] = []
    for segment in path:
        if isinstance(segment, svgelements.Move) or (not line and segment.start is not None):
            if sum(map(len, line)) > 1:
                yield np.concatenate(line)
            start = segment.end if isinstance(segment, svgelements.Move) else segment.start
            line = [np.array([[start.x, start.y]])]
        if isinstance(segment, svgelements.Move) or segment.start is None or segment.end is None:
            continue
        line.append(_sampled(segment, step))
    if sum(map(len, line)) > 1:
        yield np.concatenate(line)


def _shapes(document: Any) -> list[Any]:
    shown = [
        element
        for element in document.elements()
        if isinstance(element, svgelements.Shape) and element.values.get("visibility") != "hidden"
    ]
    own = [shape for shape in shown if str(shape.id or "").lower() == "outline"]
    return own or shown


def read_svg(path: Path) -> Drawing:
    """The lines of an SVG; of its shape with the id `outline` alone where there is one.

    Raises:
        Mistake: it is no SVG file, or holds more than any outline needs.
    """
    check_svg_size(path)
    try:
        document = svgelements.SVG.parse(str(path), ppi=_PPI, reify=True)
        root = document.values.get("attributes", document.values)
        physical = all(_PHYSICAL.fullmatch(str(root.get(side, ""))) for side in ("width", "height"))
        paths = [svgelements.Path(shape) for shape in _shapes(document)]
        boxes = np.array([box for drawn in paths if (box := drawn.bbox()) is not None], dtype=np.float64)
        lines: tuple[Points, ...] = ()
        if len(boxes):
            size = float(max(boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)))
            step = max(size / _STEPS, 1e-12)
            lines = bounded((line for drawn in paths for line in _subpaths(drawn, step)), path.name)
    except Mistake:
        raise
    except Exception as error:  # whatever the reader makes of a damaged file
        raise Mistake(
            "is no SVG file that can be read", where=path.name, do="save it again as plain SVG"
        ) from error
    return Drawing(lines, _PX_MM if physical else None, y_up=False, guesses=_GUESSES)
