"""A pair as the rack's page shows it: the best opening, small."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from seamlight.grain.reading import Reading
from seamlight.layout.opening import Layout
from seamlight.layout.photographs import PairReading
from seamlight.photo.flat import FlatLeaf, shrink
from seamlight.sheets.opened import Look, Pictures, fitted_opening
from seamlight.shop.look import jpeg, thumbnail
from seamlight.shop.shop import Shop
from seamlight.shop.taking_in import rack_key

RACK_PX = (640.0, 640.0)
DRAWN_PX_PER_MM = 2.0


def keep_rack_picture(shop: Shop, pair_id: int, pair: PairReading, layouts: Sequence[Layout]) -> None:
    """Put a pair's picture where the rack's page finds it; it can be made again."""
    shop.made.keep(rack_key(pair_id), rack_picture(pair, layouts))


def rack_picture(pair: PairReading, layouts: Sequence[Layout]) -> bytes:
    """JPEG of the best opening of the first outline that fits; without a layout, leaf A as it lies."""
    if not layouts:
        return thumbnail(pair.a.flat.rgb, int(RACK_PX[1]))
    shown = next((one for one in layouts if one.openings[0].fits), layouts[0])

    def small(reading: Reading | None) -> FlatLeaf | None:
        return shrink(reading.flat, DRAWN_PX_PER_MM) if reading is not None else None

    pictures = Pictures(
        shrink(pair.a.flat, DRAWN_PX_PER_MM), small(pair.b), small(pair.other_a), small(pair.other_b)
    )
    drawn = fitted_opening(shown, 0, pictures, RACK_PX, Look(1.2, 15), "mm")
    return jpeg(np.asarray(drawn, np.uint8), quality=85)
