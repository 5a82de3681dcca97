"""The two joint edges before planing: what comes off, veiled, drawn wider than it is."""

from __future__ import annotations

import cv2
import numpy as np
from PIL import Image, ImageDraw

from seamlight.layout.opening import Layout, Opening
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.book import mirrored
from seamlight.sheets.halves import Half, halves
from seamlight.sheets.ink import INK, PAPER, QUIET, cut_to, letters
from seamlight.sheets.lines import Layer, Stroke
from seamlight.sheets.opened import Pictures
from seamlight.sheets.words import bare
from seamlight.units import Unit

STRIP = 52  # px high, each edge
TEXT = 18
EDGES_HIGH = 2 * STRIP + 6 + round(TEXT * 1.5)
INSIDE_MM = 5.0  # wood shown on the kept side of the joint line
SIDE = 84  # px kept free at either end for the figures


def draw_edges(layout: Layout, opening: Opening, pictures: Pictures, width: int, units: Unit) -> Image.Image:
    """The left half's edge above the right half's, neck to the left, the planed wood between them veiled."""
    pair = sorted(halves(layout, opening), key=lambda h: h.pose.half)
    most = max(opening.a.planing_most_mm, opening.b.planing_most_mm, 1.0)
    px_per_mm = STRIP / (INSIDE_MM + most * 1.08 + 0.5)
    span = _span(pair)
    canvas = Image.new("RGB", (width, EDGES_HIGH), PAPER)
    draw = ImageDraw.Draw(canvas)
    along = (width - 2 * SIDE) / (span[1] - span[0])
    times = px_per_mm / along
    said = f"Joint edges, neck at left, {times:.0f} x as deep; figures: wood to plane off, {units}"
    draw.text((0, 0), cut_to(said, width, TEXT), font=letters(TEXT), fill=QUIET)
    top = round(TEXT * 1.5)
    for row, half in enumerate(pair):
        y = top + row * (STRIP + 6)
        strip = _strip(half, opening, pictures, span, px_per_mm, width - 2 * SIDE, upward=row == 1)
        canvas.paste(strip, (SIDE, y))
        _figures(draw, half, opening, (0, y, width, y + STRIP), units)
    return canvas


def _span(pair: list[Half]) -> tuple[float, float]:
    return min(h.wood.bounds[1] for h in pair), max(h.wood.bounds[3] for h in pair)


def _strip(
    half: Half,
    opening: Opening,
    pictures: Pictures,
    span: tuple[float, float],
    px_per_mm: float,
    width: int,
    upward: bool,
) -> Image.Image:
    """One edge, its joint line level; the planed wood lies toward the other strip."""
    flat = _picture(half, pictures)
    columns, rows = np.meshgrid(np.arange(width) + 0.5, np.arange(STRIP) + 0.5)
    along = span[0] + columns * (span[1] - span[0]) / width
    down = STRIP - rows if upward else rows
    outward = INSIDE_MM - down / px_per_mm
    leaf = half.to_leaf(np.column_stack([outward.ravel(), along.ravel()])) * flat.px_per_mm - 0.5
    at = leaf.astype(np.float32).reshape(STRIP, width, 2)
    rgb = cv2.remap(flat.rgb, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    wood = cv2.remap(flat.wood.astype(np.float32), at[..., 0], at[..., 1], cv2.INTER_LINEAR)[..., None]
    mixed = rgb * wood + np.array(PAPER) * (1 - wood)
    veil = (outward < 0)[..., None] * 0.62
    mixed = mixed * (1 - veil) + np.array(PAPER) * veil
    picture = Image.fromarray(np.clip(np.rint(mixed), 0, 255).astype(np.uint8))
    layer = Layer(width, STRIP)
    level = INSIDE_MM * px_per_mm if not upward else STRIP - INSIDE_MM * px_per_mm
    layer.line(np.array([[0.0, level], [float(width), level]]), Stroke(1.5))
    layer.over(picture)
    return picture


def _picture(half: Half, pictures: Pictures) -> FlatLeaf:
    second = pictures.other_a if half.leaf == "a" or pictures.b is None else pictures.other_b
    first = pictures.a if half.leaf == "a" or pictures.b is None else pictures.b
    shown = second if half.pose.mirrored and second is not None else first
    return mirrored(shown) if half.leaf == "b" and pictures.b is None else shown


def _figures(
    draw: ImageDraw.ImageDraw, half: Half, opening: Opening, box: tuple[int, int, int, int], units: Unit
) -> None:
    placing = opening.a if half.leaf == "a" else opening.b
    ends = (placing.planing_end1_mm, placing.planing_end2_mm)
    neck, tail = ends if half.pose.neck_end == 1 else ends[::-1]
    y = (box[1] + box[3]) / 2
    draw.text((box[0], y), half.leaf.upper(), font=letters(TEXT, True), fill=INK, anchor="lm")
    draw.text((box[0] + SIDE - 8, y), bare(neck, units), font=letters(TEXT), fill=INK, anchor="rm")
    draw.text((box[2] - SIDE + 8, y), bare(tail, units), font=letters(TEXT), fill=INK, anchor="lm")
