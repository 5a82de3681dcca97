"""A person's changes to the flaws that were found: what a person says always wins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from seamlight.grain.flaw import FLAW_KINDS, Flaw
from seamlight.mistake import Mistake

KEYS = ("add", "drop", "replace")
BESIDE_MM = 100.0  # how far an outline may run off the leaf; the whole of it must not lie beside it


def edit_flaws(
    flaws: Sequence[Flaw], edits: Mapping[str, Any], size_mm: tuple[float, float] | None = None
) -> tuple[Flaw, ...]:
    """Flaws after `{"add": [{"kind":, "outline_mm":}], "drop": [index], "replace": {"index": {...}}}`.

    Indices are those of the flaws as found. Those kept stay in order, those added come last; a replacement
    keeps the found kind or outline where it gives none. What a person drew is sure. `size_mm` is the leaf's
    (width, length), where no outline may lie off it.

    Raises:
        Mistake: an unknown key or kind, an index that is none, an outline that is no simple shape or lies
            off the leaf.
    """
    unknown = [str(key) for key in edits if key not in KEYS]
    if unknown:
        raise Mistake(f"no such entry: {', '.join(unknown)}", where="flaws", do=f"use {', '.join(KEYS)}")
    drop = [_index(entry, len(flaws), "drop") for entry in _list(edits.get("drop", []), "drop")]
    changes = edits.get("replace", {})
    if not isinstance(changes, Mapping):
        raise Mistake("is no object", where="replace", do='write {"0": {"kind": "knot", "outline_mm": [..]}}')
    replaced = {}
    for entry, change in changes.items():
        index = _index(entry, len(flaws), "replace")
        if index in drop:
            raise Mistake(f"flaw {index} is dropped too", where="replace", do="drop it or replace it")
        replaced[index] = _flaw(change, f"replace {index}", flaws[index], size_mm)
    adds = _list(edits.get("add", []), "add")
    added = [_flaw(entry, f"add {k}", None, size_mm) for k, entry in enumerate(adds)]
    kept = [replaced.get(k, flaw) for k, flaw in enumerate(flaws) if k not in drop]
    return (*kept, *added)


def check_on_leaf(
    points: np.ndarray[Any, np.dtype[np.float64]], size_mm: tuple[float, float], where: str
) -> None:
    """Raise where an outline (n, 2) lies beside the leaf, or runs further off it than a hand does.

    Raises:
        Mistake: it does.
    """
    size = np.array(size_mm)
    low, high = points.min(axis=0), points.max(axis=0)
    off = (low > size).any() or (high < 0).any()
    far = (low < -BESIDE_MM).any() or (high > size + BESIDE_MM).any()
    if off or far:
        (x0, y0), (x1, y1) = low, high
        raise Mistake(
            f"x {x0:.0f} to {x1:.0f}, y {y0:.0f} to {y1:.0f} mm lies off the leaf",
            where=where,
            do=f"draw it on the wood: the leaf is {size[0]:.0f} mm wide (x) and {size[1]:.0f} mm long (y)",
        )


def _list(value: Any, where: str) -> list[Any]:
    if not isinstance(value, list):
        raise Mistake("is no list", where=where, do="put its entries in [ ]")
    return value


def _index(entry: Any, count: int, where: str) -> int:
    try:
        index = int(entry) if isinstance(entry, str) else entry
    except ValueError:
        index = None
    if not isinstance(index, int) or isinstance(index, bool) or not 0 <= index < count:
        found = f"flaws 0 to {count - 1} were found" if count else "no flaws were found"
        raise Mistake(f"there is no flaw {entry!r}", where=where, do=f"{found}; see `read --json`")
    return index


def _flaw(entry: Any, where: str, found: Flaw | None, size_mm: tuple[float, float] | None) -> Flaw:
    if not isinstance(entry, Mapping) or not set(entry) <= {"kind", "outline_mm"}:
        raise Mistake("is no flaw", where=where, do='write {"kind": "knot", "outline_mm": [[x, y], ...]}')
    kind = entry.get("kind", found.kind if found else None)
    if kind not in FLAW_KINDS:
        raise Mistake(f"no such kind: {kind!r}", where=where, do="use one of " + ", ".join(FLAW_KINDS))
    if found and "outline_mm" not in entry:
        return Flaw(kind, found.outline_mm, 1.0)
    outline = _outline(entry, where)
    if size_mm is not None:
        check_on_leaf(outline, size_mm, where)
    return Flaw(kind, outline, 1.0)


def _outline(entry: Mapping[str, Any], where: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    shape = "three or more points [x, y] in mm in the leaf frame"
    try:
        points = np.array(entry.get("outline_mm"), dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise Mistake("the outline is no list of points", where=where, do=f"give {shape}") from error
    if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
        raise Mistake("the outline is no list of points", where=where, do=f"give {shape}")
    if len(points) > 1 and np.array_equal(points[0], points[-1]):
        points = points[:-1]
    if len(points) < 3:
        raise Mistake("the outline has too few points", where=where, do=f"give {shape}")
    polygon = shapely.Polygon(points)
    if not polygon.is_valid or polygon.area <= 0:
        raise Mistake("the outline crosses itself or has no area", where=where, do="list its points in order")
    return points
