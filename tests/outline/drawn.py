"""Outline files drawn for the tests, as makers' drawing programs write them."""

from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np

from seamlight.outline import named, polygon

BODY = named("auditorium")  # 492 mm long, 381 mm at the lower bout
HALF = BODY.half_mm
RING = polygon(BODY)
Points = np.ndarray


def dxf(path: Path, draw: Callable[[object], None], units: int = 4) -> Path:
    """A DXF file with what `draw` puts into its model space."""
    document = ezdxf.new("R2010", units=units)
    draw(document.modelspace())
    document.saveas(path)
    return path


def polyline(points: Points, closed: bool = False, layer: str = "0") -> Callable[[object], None]:
    """Draws one light polyline; y up, as DXF counts."""
    flipped = [(float(x), -float(y)) for x, y in points]
    return lambda space: space.add_lwpolyline(flipped, close=closed, dxfattribs={"layer": layer})  # type: ignore[attr-defined]


def svg(path: Path, body: str, head: str = 'width="600mm" height="600mm" viewBox="-300 -50 600 600"') -> Path:
    """An SVG file with the given root attributes and content."""
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>', encoding="utf-8")
    return path


def svg_path(points: Points, closed: bool = False) -> str:
    """A path element through points."""
    places = " L".join(f"{x:.5f},{y:.5f}" for x, y in points)
    return f'<path d="M{places}{" Z" if closed else ""}" fill="none"/>'


def turned(points: Points, angle_deg: float, shift: tuple[float, float] = (0.0, 0.0)) -> Points:
    """Points turned about the origin and shifted."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return points @ np.array([[c, s], [-s, c]]) + shift


def with_cutaway() -> tuple[Points, Points]:
    """Right half with a rounded cutaway at the upper bout, and the plain left half."""
    cut = HALF.copy()
    x, y = cut.T
    bite = 45 * np.exp(-(((y - 60) / 45) ** 2)) * (x > 60)
    cut[:, 0] = np.where(y < 150, np.maximum(x - bite, np.minimum(x, 60)), x)
    return cut, HALF
