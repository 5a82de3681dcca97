"""Charts to take away: one Matplotlib figure as PNG, or as SVG that needs nothing beside it.

A page draws a chart its own way; its file is drawn here anew, in the same words and on white paper. Use:
`figure, axes = new_chart("Gap along the joint", "from the neck end, mm", "gap, mm")`, draw on `axes`, then
`return chart_file(figure, form, "T4-seam")` from `@router.get(".../gap.{form}")` with `form: ChartForm`; the
page links both by `chart_links` of `chart_links.html`.
"""

from __future__ import annotations

import io
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from starlette.responses import Response

from seamlight.web.files import disposition

ChartForm = Literal["png", "svg"]
MEDIA: dict[str, str] = {"png": "image/png", "svg": "image/svg+xml"}

# the pages' own colours by day (static/seamlight.css), which print on white
INK, INK_2, RULE, ACCENT, WARN = "#1d1c1a", "#57534b", "#cfc7b8", "#17567f", "#a83a08"
SERIES = (
    ACCENT,
    WARN,
    "#5d7a2b",
    "#6b4f8a",
    INK_2,
)  # told apart by dashes and names too, never by colour alone
DASHES = ("-", "--", ":", "-.", (0, (8, 2, 1, 2)))
PRINT_DPI = 200


def new_chart(
    title: str, along: str, up: str, *, size_in: tuple[float, float] = (8.0, 4.0)
) -> tuple[Figure, Axes]:
    """An empty chart in the pages' look.

    Args:
        title: what it is of, with the pair, the build or the day.
        along, up: the axes' words with their units.
        size_in: width and height, inches, as Matplotlib counts.
    """
    figure = Figure(figsize=size_in, layout="constrained", facecolor="white")
    axes = figure.subplots()
    plain_axes(axes, along, up)
    axes.set_title(title, loc="left", color=INK, fontweight="bold")
    return figure, axes


def plain_axes(axes: Axes, along: str, up: str) -> None:
    """Rules rather than boxes, for axes of a figure made elsewhere."""
    axes.set_xlabel(along, color=INK)
    axes.set_ylabel(up, color=INK)
    axes.grid(color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(colors=INK_2)
    for name, spine in axes.spines.items():
        spine.set_visible(name in ("left", "bottom"))
        spine.set_color(INK_2)


def chart_file(figure: Figure, form: ChartForm, name: str) -> Response:
    """The figure as a file to be saved.

    Args:
        name: the file's, without its ending; letters of any language.
    """
    headers = {
        "content-disposition": disposition("attachment", f"{name}.{form}"),
        "cache-control": "private, no-cache",
    }
    return Response(chart_bytes(figure, form), media_type=MEDIA[form], headers=headers)


def chart_bytes(figure: Figure, form: ChartForm) -> bytes:
    """The figure drawn; in an SVG the letters are outlines, so that no font is missed."""
    held = io.BytesIO()
    figure.savefig(held, format=form, dpi=PRINT_DPI, metadata={"Date": None} if form == "svg" else None)
    return held.getvalue()
