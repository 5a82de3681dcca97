"""Lines from a DXF file, by ezdxf."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any

import ezdxf.path
import numpy as np
from ezdxf import recover
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFStructureError
from ezdxf.units import conversion_factor

from seamlight.mistake import Mistake
from seamlight.outline.bounds import MOST_ELEMENTS, MOST_FOLLOWED, MOST_POINTS, bounded, too_much
from seamlight.outline.drawing import Drawing
from seamlight.photo.flat import Points
from seamlight.units import MM_PER_INCH

_CURVES = {"LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE"}
_GUESSES = (("mm", 1.0), ("cm", 10.0), ("inch", MM_PER_INCH), ("m", 1000.0), ("ft", 12 * MM_PER_INCH))
_CHORD = 5e-6  # of the drawing's size: 0.0025 mm on a body
_MILLIMETRES = 4  # of $INSUNITS, as in the DXF reference


def _document(path: Path) -> Any:
    try:
        return readfile(path)
    except DXFStructureError:
        return recover.readfile(path)[0]


def _unit_mm(code: int) -> float | None:
    """Millimetres in the unit of a $INSUNITS code; None for 0, unitless, and codes that are no length."""
    try:
        return float(conversion_factor(InsertUnits(code), InsertUnits(_MILLIMETRES)))
    except (TypeError, ValueError, KeyError):
        return None


def _shown(entities: Iterable[Any], layers: Any, depth: int = 0) -> Iterator[Any]:
    """Curves on layers that are on, blocks opened; None for each block, so that those count too."""
    for entity in entities:
        layer = layers.get(entity.dxf.layer) if entity.dxf.layer in layers else None
        if entity.dxf.get("invisible", 0) or (layer is not None and (layer.is_off() or layer.is_frozen())):
            continue
        if entity.dxftype() == "INSERT" and depth < 5:
            yield None
            yield from _shown(entity.virtual_entities(), layers, depth + 1)
        elif entity.dxftype() in _CURVES:
            yield entity


def _counted(entities: Iterator[Any], where: str) -> list[Any]:
    """The entities, unless there are more than any outline has; blocks in blocks multiply."""
    found = list(islice(entities, MOST_ELEMENTS + 1))
    if len(found) > MOST_ELEMENTS:
        raise too_much(where, f"more than {MOST_ELEMENTS:,} lines")
    return [entity for entity in found if entity is not None]


def _flat_lines(entities: list[Any], where: str) -> Iterator[Points]:
    paths = [ezdxf.path.make_path(entity, segments=8) for entity in entities]
    if sum(len(path) for path in paths) > MOST_POINTS:
        raise too_much(where, f"more than {MOST_POINTS:,} points")
    corners = [np.array([(v.x, v.y) for v in path.control_vertices()]) for path in paths if len(path)]
    if not corners:
        return
    size = float(np.ptp(np.concatenate(corners), axis=0).max())
    for path in paths:
        followed = islice(path.flattening(max(size * _CHORD, 1e-12)), MOST_FOLLOWED + 1)
        points = np.array([(v.x, -v.y) for v in followed], dtype=np.float64)
        if len(points) > 1:
            yield points


def read_dxf(path: Path) -> Drawing:
    """The lines of a DXF's model space; of its layer `outline` alone where there is one.

    Raises:
        Mistake: it is no DXF file, or holds more than any outline needs.
    """
    try:
        document = _document(path)
        shown = _counted(_shown(document.modelspace(), document.layers), path.name)
        own = [entity for entity in shown if entity.dxf.layer.lower() == "outline"]
        lines = bounded(_flat_lines(own or shown, path.name), path.name)
    except Mistake:
        raise
    except Exception as error:  # whatever the reader makes of a damaged file
        raise Mistake(
            "is no DXF file that can be read", where=path.name, do="save it again as DXF"
        ) from error
    return Drawing(lines, _unit_mm(int(document.units)), y_up=True, guesses=_GUESSES)
