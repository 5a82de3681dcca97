"""One pair read, laid out and drawn small for the rack: what the process beside the server is asked for."""

from __future__ import annotations

from seamlight.sheets.rack_picture import rack_picture
from seamlight.shop.pair_reading import PairKept, PairOrder, read_for_shop


def read_and_draw(order: PairOrder) -> tuple[PairKept, bytes]:
    """The pair as it is kept, and its small picture (JPEG).

    Raises:
        Mistake: a photograph cannot be read.
    """
    kept, pair, layouts = read_for_shop(order)
    return kept, rack_picture(pair, layouts)
