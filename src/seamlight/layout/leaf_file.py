"""A read leaf as bytes and back, exactly: so that a pair's photographs need not be read again.

The bytes are a NumPy archive (`.npz`) of plain arrays; `says` holds what is no array, as JSON.
"""

from __future__ import annotations

import json
import zipfile
from io import BytesIO
from typing import Any, get_args

import numpy as np
from numpy.typing import NDArray

from seamlight.grain.field import GrainField
from seamlight.grain.flaw import FLAW_KINDS, Flaw
from seamlight.grain.reading import EndGrain, Thirds
from seamlight.layout.opening import Edge
from seamlight.layout.pair import Leaf
from seamlight.mistake import Mistake

VERSION = 1
_MAGIC = "seamlight/leaf"
_FIELD = ("x_mm", "y_mm", "angle_deg", "spacing_mm", "coherence")
Arrays = dict[str, NDArray[Any]]


def leaf_bytes(leaf: Leaf) -> bytes:
    """The leaf as bytes that `leaf_from_bytes` reads back to the same figures, bit by bit."""
    says: dict[str, Any] = {
        "is": _MAGIC,
        "version": VERSION,
        "scale_error_mm": leaf.scale_error_mm,
        "width_mm": leaf.width_mm,
        "length_mm": leaf.length_mm,
        "flaws": [[f.kind, f.sure] for f in leaf.flaws],
        "other_flaws": [[f.kind, f.sure] for f in leaf.other_flaws],
    }
    arrays: Arrays = {"outline_mm": np.asarray(leaf.outline_mm, dtype=np.float64)}
    for name, flaws in (("flaw", leaf.flaws), ("other_flaw", leaf.other_flaws)):
        arrays |= {f"{name}_{i}": np.asarray(f.outline_mm, np.float64) for i, f in enumerate(flaws)}
    if leaf.field is not None:
        arrays |= {f"field_{name}": getattr(leaf.field, name) for name in _FIELD}
    if leaf.end is not None:
        arrays |= {"end_x_mm": leaf.end.x_mm, "end_ring_to_face_deg": leaf.end.ring_to_face_deg}
        thirds = leaf.end.thirds
        says["end"] = {
            "thirds": [thirds.left, thirds.middle, thirds.right],
            "quartered_edge": leaf.end.quartered_edge,
        }
    file = BytesIO()
    np.savez_compressed(file, says=np.array(json.dumps(says)), **arrays)  # type: ignore[arg-type]
    return file.getvalue()


def leaf_from_bytes(data: bytes) -> Leaf:
    """The leaf that was kept.

    Raises:
        Mistake: the bytes are no kept leaf, or of a version that this program does not know.
    """
    try:
        with np.load(BytesIO(data), allow_pickle=False) as archive:
            arrays: Arrays = {name: archive[name] for name in archive.files}
        says = json.loads(str(arrays["says"]))
        version = says["version"] if says["is"] == _MAGIC else None
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile) as error:
        raise _unknown("is no kept leaf") from error
    if version != VERSION:
        raise _unknown(f"was kept in form {version}, this program knows {VERSION}")
    try:
        return _leaf(says, arrays)
    except (KeyError, ValueError, TypeError) as error:
        raise _unknown("is no whole leaf") from error


def _leaf(says: dict[str, Any], arrays: Arrays) -> Leaf:
    field = None
    if "field_x_mm" in arrays:
        field = GrainField(**{name: arrays[f"field_{name}"] for name in _FIELD})
    return Leaf(
        outline_mm=arrays["outline_mm"],
        flaws=_flaws(says["flaws"], "flaw", arrays),
        other_flaws=_flaws(says["other_flaws"], "other_flaw", arrays),
        field=field,
        end=_end(says["end"], arrays) if "end" in says else None,
        scale_error_mm=float(says["scale_error_mm"]),
        width_mm=float(says["width_mm"]),
        length_mm=float(says["length_mm"]),
    )


def _flaws(said: list[Any], name: str, arrays: Arrays) -> tuple[Flaw, ...]:
    found = []
    for i, (kind, sure) in enumerate(said):
        if kind not in FLAW_KINDS:
            raise ValueError(kind)
        found.append(Flaw(kind, arrays[f"{name}_{i}"], float(sure)))
    return tuple(found)


def _end(said: dict[str, Any], arrays: Arrays) -> EndGrain:
    left, middle, right = said["thirds"]
    edge = said["quartered_edge"]
    if edge is not None and edge not in get_args(Edge):
        raise ValueError(edge)
    return EndGrain(arrays["end_x_mm"], arrays["end_ring_to_face_deg"], Thirds(left, middle, right), edge)


def _unknown(what: str) -> Mistake:
    return Mistake(what, where="leaf", do="read the pair's photographs again")
