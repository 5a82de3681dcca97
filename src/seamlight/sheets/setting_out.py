"""Everything a marking sheet says about one opening, computed once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from seamlight.layout.opening import Face, Layout, Opening
from seamlight.outline.measure import waist_of
from seamlight.sheets.halves import Half, halves
from seamlight.sheets.measures import LeafMeasures, measure_leaf
from seamlight.sheets.opened import grown_outline
from seamlight.sheets.places import LabelPlace, label_place, tape_places
from seamlight.sheets.wedge import WedgeLine, wedge_lines
from seamlight.units import Unit


@dataclass(frozen=True, eq=False)
class LeafSettingOut:
    """One leaf's measures, line to saw for wedges (None without such a rig), wing stock and label place."""

    half: Half
    face: Face  # that lies up on the bench: the photographed one
    measures: LeafMeasures
    wedge: WedgeLine | None
    wing_stock: Polygon | None
    label: LabelPlace | None


@dataclass(frozen=True, eq=False)
class SettingOut:
    """Both leaves and what concerns them together."""

    layout: Layout
    opening: Opening
    a: LeafSettingOut
    b: LeafSettingOut
    tape_mm: tuple[float, ...]  # along the joint from the neck end


def set_out(layout: Layout, opening: Opening, units: Unit = "mm") -> SettingOut:
    """The measures, lines and places of one opening."""
    settings = layout.settings
    pair = halves(layout, opening)
    stocks = tuple(wing_stock(half, opening, settings.trim_mm) for half in pair)
    grown = tuple(grown_outline(half, settings.trim_mm, settings.end_trim_mm) for half in pair)
    needed_a, needed_b = (
        unary_union([g, s]) if s is not None else g for g, s in zip(grown, stocks, strict=True)
    )
    wedges: tuple[WedgeLine, WedgeLine] | tuple[None, None] = (None, None)
    if settings.wedge_angle_deg is not None:
        wedges = wedge_lines(pair, (needed_a, needed_b), settings.wedge_angle_deg, settings.end_trim_mm)
    leaves = []
    for half, leaf, placing, needed, stock, wedge, face in zip(
        pair,
        (layout.a, layout.b),
        (opening.a, opening.b),
        (needed_a, needed_b),
        stocks,
        wedges,
        ("sawn", layout.registration.b_shows),
        strict=True,
    ):
        measures = measure_leaf(leaf.outline_mm, placing, half.pose, layout.outline, units)
        label = label_place(half, _taken(half, needed, wedge))
        leaves.append(LeafSettingOut(half, face, measures, wedge, stock, label))
    return SettingOut(layout, opening, leaves[0], leaves[1], tape_places(pair, settings.end_trim_mm))


def _taken(half: Half, needed: BaseGeometry, wedge: WedgeLine | None) -> BaseGeometry:
    """What no label may lie on: the wood that is needed, and what the saw takes off."""
    if wedge is None or not wedge.good:
        return needed
    line = wedge.points(float(half.edge_mm[-1, 1]), 1e3)
    off = Polygon([*line, (1e4, line[1, 1]), (1e4, line[0, 1])])
    return unary_union([needed, off])


def wing_stock(half: Half, opening: Opening, trim_mm: float) -> Polygon | None:
    """The strip beside the waist that lower-bout wings would be cut from.

    As long and as wide as the remedy says, along the outline's trim, where the wood leaves most room; None
    where no wings are proposed, or where the wood is nowhere that wide over that length.
    """
    wings = [dict(remedy.figures) for remedy in opening.remedies if remedy.kind == "lower-bout wings"]
    if not wings:
        return None
    width, length = float(wings[0]["width_mm"]), float(wings[0]["length_mm"])
    y, room = half.rooms(trim_mm)
    count = int(np.ceil(length / (y[1] - y[0]))) + 1
    waist = waist_of(half.body)
    beside = (y >= waist.upper_at_mm) & (y <= waist.lower_at_mm)
    y, room = y[beside], room[beside]
    if len(y) < count:
        return None
    least = np.lib.stride_tricks.sliding_window_view(room, count).min(axis=1)
    first = int(np.argmax(least))
    if least[first] < width:
        return None
    along = y[first : first + count]
    inner = half.width_at(along) + trim_mm
    return Polygon(
        np.vstack([np.column_stack([inner, along]), np.column_stack([inner + width, along])[::-1]])
    )
