"""What was read on one leaf, drawn on its picture: grain direction, grain lines, flaws, ends, scale."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw
from scipy.interpolate import RegularGridInterpolator

from seamlight.grain.field import GrainField
from seamlight.grain.reading import Reading
from seamlight.photo.flat import Points, Rgb
from seamlight.sheets.book import shrunk
from seamlight.sheets.ink import INK, PAPER, QUIET, RULE, fold, letters
from seamlight.sheets.lines import Layer, Stroke, as_rgb, tag, words_on_wood
from seamlight.sheets.reading_words import figures
from seamlight.units import MM_PER_INCH, Unit

HIGH = 1400  # px, the leaf's picture at most
SIDE = 520  # px for the figures beside it
GAP = 30
TEXT, HEAD = 23, 30
TICK_APART_MM, TICK_MM = 24.0, 11.0
LINE_APART_MM = 20.0

_LINE = Stroke(1.0, 0.6)
_TICK = Stroke(2.4, 0.9)
_FLAW = Stroke(1.6, 0.9)
_EDGE = Stroke(1.6, 0.9)


def reading_picture(reading: Reading, *, units: Unit = "mm") -> Rgb:
    """The flat leaf with what was read on it and the figures beside it, (h, w, 3)."""
    flat = reading.flat
    px_per_mm = min(flat.px_per_mm, HIGH / max(flat.length_mm, 1.0))
    rgb, wood, scale = shrunk(flat, px_per_mm)
    cover = wood[..., None]
    picture = Image.fromarray((rgb * cover + np.array(PAPER) * (1 - cover)).astype(np.uint8))
    layer = Layer(*picture.size)
    layer.ring(np.asarray(flat.outline_mm) * scale, _EDGE)
    for line in grain_lines(reading.field):
        layer.line(line * scale, _LINE)
    for tick in direction_ticks(reading.field):
        layer.line(tick * scale, _TICK)
    for flaw in reading.flaws:
        layer.hatch(np.asarray(flaw.outline_mm) * scale, 8.0, _FLAW)
    layer.over(picture)
    _names(picture, reading, scale)
    canvas = Image.new(
        "RGB", (picture.width + SIDE + 3 * GAP, max(picture.height, 700) + 2 * GAP + 2 * HEAD), PAPER
    )
    canvas.paste(picture, (GAP, GAP + round(HEAD * 1.4)))
    draw = ImageDraw.Draw(canvas)
    middle = GAP + picture.width / 2
    draw.text((middle, GAP), "end 1", font=letters(HEAD, True), fill=INK, anchor="ma")
    draw.text(
        (middle, GAP + HEAD * 1.6 + picture.height), "end 2", font=letters(HEAD, True), fill=INK, anchor="ma"
    )
    _beside(canvas, reading, (picture.width + 2 * GAP, GAP), scale, units)
    return as_rgb(canvas)


def direction_ticks(field: GrainField) -> list[Points]:
    """Short lines along the grain, (2, 2) mm each, where its direction is told."""
    slope = _slope(field)
    x = np.arange(field.x_mm[0] + TICK_APART_MM / 2, field.x_mm[-1], TICK_APART_MM)
    y = np.arange(field.y_mm[0] + TICK_APART_MM / 2, field.y_mm[-1], TICK_APART_MM)
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    leans = slope(places[:, ::-1])
    good = np.isfinite(leans)
    along = np.column_stack([leans, np.ones_like(leans)])[good]
    half = along / np.linalg.norm(along, axis=1)[:, None] * TICK_MM / 2
    return [np.vstack([p - h, p + h]) for p, h in zip(places[good], half, strict=True)]


def grain_lines(field: GrainField, step_mm: float = 4.0) -> list[Points]:
    """Lines that follow the grain from end to end through places `LINE_APART_MM` apart, (n, 2) mm each."""
    slope = _slope(field)
    middle = float(np.mean(field.y_mm[[0, -1]]))
    starts = np.arange(field.x_mm[0] + LINE_APART_MM / 2, field.x_mm[-1], LINE_APART_MM)
    down = _follow(slope, starts, middle, float(field.y_mm[-1]), step_mm)
    up = _follow(slope, starts, middle, float(field.y_mm[0]), -step_mm)
    found = []
    for i in range(len(starts)):
        line = np.vstack([up[::-1, i], down[1:, i]])
        line = line[np.isfinite(line[:, 0])]
        if len(line) > 3:
            found.append(line)
    return found


def _slope(field: GrainField) -> RegularGridInterpolator:
    """dx/dy of the grain at (y, x); NaN off the wood."""
    lean = np.tan(np.radians(field.angle_deg))
    return RegularGridInterpolator((field.y_mm, field.x_mm), lean, bounds_error=False, fill_value=np.nan)


def _follow(slope: RegularGridInterpolator, x: Points, y: float, end: float, step: float) -> Points:
    """Lines from (x, y) toward y = end, (steps, n, 2); NaN from where a line leaves the wood."""
    rows = [np.column_stack([x, np.full_like(x, y)])]
    for _ in range(int(abs(end - y) / abs(step))):
        # Heun's rule: Hairer, Norsett, Wanner, Solving Ordinary Differential Equations I (from memory)
        first = slope(np.column_stack([np.full_like(x, y), x]))
        second = slope(np.column_stack([np.full_like(x, y + step), x + step * first]))
        x, y = x + step * (first + second) / 2, y + step
        rows.append(np.column_stack([x, np.full_like(x, y)]))
    return np.array(rows)


def _names(picture: Image.Image, reading: Reading, scale: float) -> None:
    """Each flaw's kind beside it, with its number in the list; lines per inch clear of them."""
    named_at = []
    for number, flaw in enumerate(reading.flaws):
        outline = np.asarray(flaw.outline_mm) * scale
        x = float(np.clip(outline[:, 0].mean(), 50, picture.width - 50))
        y = float(outline[:, 1].min()) - TEXT * 0.7
        y = y if y > TEXT else float(outline[:, 1].max()) + TEXT * 0.8
        words_on_wood(picture, f"{number} {flaw.kind}", (x, y), TEXT * 0.85)
        named_at.append(y)
    heights = picture.height * np.array([0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8])
    room = np.abs(heights[:, None] - np.array(named_at or [-np.inf])).min(axis=1)
    clear = heights[int(np.argmax(np.minimum(room, 2.5 * TEXT)))]
    spacing = reading.spacing_mm
    for third, mm in enumerate((spacing.left, spacing.middle, spacing.right)):
        if mm:
            at = (picture.width * (2 * third + 1) / 6, float(clear))
            tag(picture, f"{MM_PER_INCH / mm:.0f} lpi", at, TEXT * 0.85)


def _beside(canvas: Image.Image, reading: Reading, at: tuple[int, int], scale: float, units: Unit) -> None:
    draw = ImageDraw.Draw(canvas)
    x, y = at
    for head, lines in figures(reading, units):
        draw.text((x, y), head, font=letters(TEXT, True), fill=INK)
        y += round(TEXT * 1.4)
        for text in lines:
            for line in fold(text, SIDE, TEXT):
                draw.text((x, y), line, font=letters(TEXT), fill=INK)
                y += round(TEXT * 1.34)
        y += round(TEXT * 0.6)
        if y > canvas.height - 260:
            draw.text((x, y), "…", font=letters(TEXT), fill=INK)
            break
    y = canvas.height - 190
    draw.line((x, y, x + SIDE, y), fill=RULE, width=2)
    layer = Layer(SIDE, 130)
    layer.line(np.array([[4.0, 24.0], [60.0, 24.0]]), _TICK)
    layer.line(np.array([[4.0, 60.0], [60.0, 60.0]]), _LINE)
    box = np.array([[8.0, 82.0], [56.0, 82.0], [56.0, 108.0], [8.0, 108.0]])
    layer.hatch(box, 8.0, _FLAW)
    layer.over(canvas, (x, y))
    for dy, text in ((24, "grain direction"), (60, "lines that follow the grain"), (95, "flaw")):
        draw.text((x + 76, y + dy), text, font=letters(TEXT), fill=INK, anchor="lm")
    _scale_bar(draw, (x, y + 140), scale, units)


def _scale_bar(draw: ImageDraw.ImageDraw, at: tuple[float, float], scale: float, units: Unit) -> None:
    long_mm, said = (101.6, "4 in (101.6 mm)") if units == "inch" else (100.0, "100 mm")
    x, y = at
    wide = long_mm * scale
    draw.line((x, y, x + wide, y), fill=INK, width=4)
    for end in (x, x + wide):
        draw.line((end, y - 9, end, y + 9), fill=INK, width=4)
    draw.text((x + wide + 14, y), said, font=letters(TEXT), fill=QUIET, anchor="lm")
