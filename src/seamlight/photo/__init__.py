"""From a picture file to a flat picture of the wood at a known scale.

In: a JPEG, PNG, TIFF, WebP or HEIC file (`open_picture`) and what a person says about the scale
    (`parse_scale`).
Out: `lay_flat` gives one `FlatLeaf` for each leaf: cut out of its bench, in the leaf frame, in mm, with the
    error
of its scale and the map back to the photograph. `target_sheet` says what is printed on the sheet that gives
scale.
"""

from seamlight.photo.flat import FlatLeaf, PlaneMap, Scale
from seamlight.photo.lay import lay_flat
from seamlight.photo.picture import Picture, open_picture
from seamlight.photo.scale import ScaleSpec, parse_scale
from seamlight.photo.target import TargetSheet, target_sheet

__all__ = [
    "FlatLeaf",
    "Picture",
    "PlaneMap",
    "Scale",
    "ScaleSpec",
    "TargetSheet",
    "lay_flat",
    "open_picture",
    "parse_scale",
    "target_sheet",
]
