"""A pair's weights over time as a picture to take away."""

from __future__ import annotations

import numpy as np
from fastapi import APIRouter, Request
from starlette.responses import Response

from seamlight.shop import wood as wood_rows
from seamlight.shop.missing import Missing
from seamlight.shop.shop import Shop
from seamlight.shop.tally import weights
from seamlight.web.chart_files import ChartForm, chart_file, new_chart
from seamlight.web.render import house_of
from seamlight.web.weight_curves import NAMES

router = APIRouter(prefix="/wood/pairs", include_in_schema=False)


@router.get("/{pair_id}/weights.{form}")
def chart(request: Request, pair_id: int, form: ChartForm) -> Response:
    """The weights over time, as PNG or SVG."""
    shop: Shop = request.app.state.shop
    with shop.read() as session:
        pair = wood_rows.pair(session, pair_id, deleted=True)
        rows = weights(session, pair_id)
    if not rows:
        raise Missing("it was not weighed yet", do="weigh it on its page")
    zone = house_of(request).zone
    figure, axes = new_chart(f"{pair.label}: weight over time", "", "weight, g")
    for (leaf, name), dash in zip(NAMES.items(), ("o-", "s--", "^:"), strict=True):
        own = [row for row in rows if row.leaf == leaf]
        if own:
            days = np.array([row.at.astimezone(zone).replace(tzinfo=None) for row in own], "datetime64[s]")
            axes.plot(days, [row.grams for row in own], dash, label=name)
    figure.autofmt_xdate()
    axes.legend()
    return chart_file(figure, form, f"{pair.label}-weights")
