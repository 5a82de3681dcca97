"""One pair read, laid out and drawn small for the rack: what the process beside the server is asked for."""

from __future__ import annotations

import numpy as np

from seamlight.layout.opening import Layout
from seamlight.layout.photographs import PairReading
from seamlight.photo.flat import shrink
from seamlight.sheets.opened import Look, Pictures, fitted_opening
from seamlight.shop.look import jpeg, thumbnail
from seamlight.shop.pair_reading import PairKept, PairOrder, read_for_shop

RACK_PX = (640.0, 640.0)
DRAWN_PX_PER_MM = 2.0


def read_and_draw(order: PairOrder) -> tuple[PairKept, bytes]:
    """The pair as it is kept, and its small picture (JPEG).

    Raises:
        Mistake: a photograph cannot be read.
    """
    kept, pair, layouts = read_for_shop(order)
    return kept, rack_picture(pair, layouts)


def rack_picture(pair: PairReading, layouts: tuple[Layout, ...]) -> bytes:
    """The best opening of the first outline that fits; without a layout, leaf A as it lies."""
    if not layouts:
        return thumbnail(pair.a.flat.rgb, int(RACK_PX[1]))
    shown = next((one for one in layouts if one.openings[0].fits), layouts[0])
    b = pair.b
    pictures = Pictures(
        shrink(pair.a.flat, DRAWN_PX_PER_MM), shrink(b.flat, DRAWN_PX_PER_MM) if b is not None else None
    )
    drawn = fitted_opening(shown, 0, pictures, RACK_PX, Look(1.2, 15), "mm")
    return jpeg(np.asarray(drawn, np.uint8), quality=85)
