"""What a small or soft picture adds to the doubt of a leaf's size, and when that is too much."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from seamlight.mistake import Mistake
from seamlight.photo.flat import Scale

# In a saved picture an edge is known to a part of a pixel where light tells it, and to a few pixels where
# only tint does; copies with few px to the mm are pressed hardest. Bounds from rendered copies of 1280 to
# 4000 px saved at quality 60 to 92 (other seeds than the tests'): no source.
_EDGE_PX_PER_MM = 2.35
_EDGE_POWER = 4
_SHARP_PX = 1.5  # blur, standard deviation, of a picture in focus
_SHARE_OF_BLUR = 0.25

LEAST_PX_PER_MM = 2.5  # fewer: a copy made small, or taken from too far; rings are counted two at a time
_LOOSE_MM = 2.0  # said from here on
_HOPELESS_MM = 8.0  # refused from here on: more than any trim to an outline
_STEP_BACK = "step back until all of it shows"


def doubted(scale: Scale, blur_px: float) -> Scale:
    """The scale with the doubt of the leaf's edge in this picture added.

    Args:
        scale: as the target sheets or the person have it.
        blur_px: standard deviation of the picture's blur.
    """
    small_mm = (_EDGE_PX_PER_MM / scale.px_per_mm) ** _EDGE_POWER
    soft_mm = _SHARE_OF_BLUR * max(blur_px - _SHARP_PX, 0.0) / scale.px_per_mm
    return replace(scale, error_mm=float(np.sqrt(scale.error_mm**2 + small_mm**2 + soft_mm**2)))


def doubt_said(scale: Scale, cut_sheets: tuple[str, ...], blurred: bool, name: str) -> tuple[str, ...]:
    """What to say of a scale that is not sure, and of what makes it so.

    Args:
        scale: with all its doubts.
        cut_sheets: the target sheets that the picture cuts off, as `cut_off_sheets` says them.
        blurred: whether the picture is.
        name: the file, for messages.

    Raises:
        Mistake: the leaf's size is so unsure that it is of no use.
    """
    cut = f"the picture cuts off {' and '.join(cut_sheets)}" if cut_sheets else ""
    small = scale.px_per_mm < LEAST_PX_PER_MM
    if cut:
        what, do = cut, _STEP_BACK
    elif blurred:
        what, do = "the picture is blurred", "hold the phone still and let it focus on the leaf"
    elif small:
        what = f"the picture has only {scale.px_per_mm:.2g} px to the mm"
        do = "use the original photograph, not a copy made smaller"
    else:
        what, do = "", "lay two target sheets, whole and sharp, one on either side of the leaf"
    if scale.error_mm > _HOPELESS_MM:
        unsure = f"the leaf's length is only sure to {scale.error_mm:.0f} mm"
        raise Mistake(f"{what}: {unsure}" if what else unsure, where=name, do=do)
    if scale.error_mm > _LOOSE_MM:
        unsure = f"the leaf's length is only sure to {scale.error_mm:.1f} mm"
        return (f"{what}, so {unsure}: {do}" if what else f"{unsure}: {do}",)
    return (f"{what}: {do}",) if what and not small else ()
