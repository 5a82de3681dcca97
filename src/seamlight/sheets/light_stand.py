"""The sheet `light-stand`: a holder for two leaves, a lamp and a phone, with shim places and how to expose.

Page 1 shows the stand from the side and from the front, not to scale, with its measures; page 2 has the
slotted foot and the shim strips at full size, and the words; page 3 is a stepped slit to try it with
(`slit_target`). Measures are common practice, no source: they follow from a leaf of some 550 x 200 mm and a
phone some 400 mm away.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from seamlight.mistake import Mistake
from seamlight.sheets.ink import INK, QUIET, RULE, WARN
from seamlight.sheets.page import (
    MARGIN_MM,
    PAPER_MM,
    PT,
    draw_check_bars,
    draw_heading,
    pdf_pages,
    put_text,
    set_ink,
)
from seamlight.sheets.slit_target import draw_slit_target

DISTANCE_MM = 400  # lens to joint: the whole of a 550 mm joint in a phone's main camera
_LAMP_MM = 60  # diffuser behind the joint

_EXPOSE = (
    "Lock the exposure",
    "1  Room dark, lamp on. Take the leaves away: the phone sees the bare diffuser.",
    "2  Hold a finger on the lit diffuser until the phone says that focus and exposure are locked.",
    "3  Pull the brightness down until the diffuser is light gray, no longer white anywhere.",
    "4  Take the lamp's own picture. Touch nothing on the phone from now on.",
    "5  Put the leaves in and take the joint: same place, same lock. No flash, no zoom, no filter.",
    "6  Not sure of the plane? Film three seconds and swing the phone 5 mm to either side of it.",
)
_SHIMS = (
    "Shims",
    "For millimetres: a different feeler leaf in each end, such as 0.05 mm at neck, 0.15 mm at tail,",
    "no more than 3 mm into the joint. Both leaves must rest on both shims; if it rocks, take thicker ones.",
    "For closed or not: no shims. Light must then show beyond both ends, or nothing is proved.",
    "Light cannot see an edge out of square: try each face with a feeler as well.",
)
_FLAT = (
    "Before",
    "Leaves rested, equally dry, flat within 0.3 mm in the rig. More: sticker, weigh down, wait.",
    "Edges brushed clean: a speck of dust is 0.05 mm.",
)
_CARE = "A halogen or filament lamp chars paper and wood: use a cold lamp, and never leave it on unwatched."


def sheet_light_stand(path: Path | str, paper: str = "a4") -> None:
    """Write the drawing of the stand as a PDF of three pages.

    Args:
        path: the file to write, whole or not at all.
        paper: a4 or letter.

    Raises:
        Mistake: no such paper, or a folder that is not there.
    """
    size = next((PAPER_MM[p] for p in PAPER_MM if p == paper.lower() and p in ("a4", "letter")), None)
    if size is None:
        raise Mistake(f"no light stand for paper {paper!r}", where="--paper", do="use a4 or letter")
    with pdf_pages(path, size, "Light stand") as canvas:
        draw_heading(canvas, size, "Light stand: how it goes together, not to scale", "1 of 3")
        top = size[1] - 28.0
        _side(canvas, MARGIN_MM, top - 84.0)
        _front(canvas, MARGIN_MM, top - 190.0)
        put_text(canvas, _CARE, MARGIN_MM, 22.0, 3.2, colour=WARN, bold=True)
        put_text(canvas, "Measures in mm; common practice, no source. Alter them to your leaves.",
                 MARGIN_MM, 15.0, 3.0, colour=QUIET)  # fmt: skip
        canvas.showPage()
        draw_heading(
            canvas, size, "Light stand: slotted foot and shim strips at full size; the picture", "2 of 3"
        )
        draw_check_bars(canvas)
        _foot(canvas, 36.0, size[1] - 72.0)
        _strips(canvas, 126.0, size[1] - 72.0)
        _words(canvas, 24.0, size[1] - 92.0)
        canvas.showPage()
        draw_slit_target(canvas, size, "3 of 3")


def _box(canvas: Any, x: float, y: float, wide: float, high: float, shade: float | None = None) -> None:
    set_ink(canvas, INK, 0.35)
    if shade is not None:
        canvas.setFillGray(shade)
    canvas.rect(x * PT, y * PT, wide * PT, high * PT, stroke=1, fill=int(shade is not None))


def _line(canvas: Any, *ends: float, dash: tuple[float, ...] = (), line_mm: float = 0.25) -> None:
    set_ink(canvas, INK, line_mm, dash)
    canvas.line(*(end * PT for end in ends))


def _measure(canvas: Any, x0: float, x1: float, y: float, words: str) -> None:
    """A measure across, with ticks and its words above."""
    set_ink(canvas, QUIET, 0.2)
    canvas.line(x0 * PT, y * PT, x1 * PT, y * PT)
    for x in (x0, x1):
        canvas.line(x * PT, (y - 1.5) * PT, x * PT, (y + 1.5) * PT)
    put_text(canvas, words, (x0 + x1) / 2, y + 1.6, 3.0, align="middle", colour=QUIET)


def _side(canvas: Any, x: float, y: float) -> None:
    """From the side: lamp, diffuser, leaves on edge, phone rest, all on one board."""
    put_text(canvas, "From the neck end", x, y + 82.0, 3.8, bold=True)
    _box(canvas, x, y, 175.0, 5.0, 0.86)
    put_text(canvas, "board, 700 long x 600 deep", x + 88.0, y - 5.0, 3.0, align="middle")
    _box(canvas, x + 6.0, y + 5.0, 10.0, 50.0, 0.97)
    put_text(canvas, "cold lamp,", x + 2.0, y + 62.0, 3.0)
    put_text(canvas, "600 long", x + 2.0, y + 58.0, 3.0)
    _line(canvas, x + 32.0, y + 5.0, x + 32.0, y + 62.0, line_mm=0.9)
    put_text(canvas, "diffuser: opal sheet or two layers", x + 26.0, y + 71.0, 3.0)
    put_text(canvas, "of white paper, 650 x 450", x + 26.0, y + 67.0, 3.0)
    for low, high in ((9.0, 31.0), (31.4, 53.0)):
        _box(canvas, x + 58.0, y + low, 2.4, high - low, 0.75)
    _box(canvas, x + 54.5, y + 5.0, 3.0, 9.0, 0.86)
    _box(canvas, x + 61.0, y + 5.0, 3.0, 9.0, 0.86)
    put_text(canvas, "leaves on edge, the joint level,", x + 67.0, y + 55.0, 3.0)
    put_text(canvas, "lower leaf in the slotted feet", x + 67.0, y + 51.0, 3.0)
    _line(canvas, x + 59.2, y + 31.2, x + 158.0, y + 31.2, dash=(2.0, 1.2), line_mm=0.2)
    put_text(canvas, "plane of the joint, through the lens", x + 86.0, y + 33.0, 3.0, colour=QUIET)
    _box(canvas, x + 152.0, y + 5.0, 14.0, 19.0, 0.86)
    _box(canvas, x + 157.5, y + 24.0, 2.2, 16.0, 0.35)
    put_text(canvas, "phone", x + 163.0, y + 32.0, 3.0)
    put_text(canvas, "rest with a ledge,", x + 139.0, y + 47.0, 3.0)
    put_text(canvas, "shimmed to height", x + 139.0, y + 43.0, 3.0)
    _measure(canvas, x + 32.0, x + 58.0, y + 20.0, f"{_LAMP_MM}")
    _measure(canvas, x + 60.4, x + 157.5, y + 20.0, f"{DISTANCE_MM}, lens to joint")


def _front(canvas: Any, x: float, y: float) -> None:
    """From the phone: the lamp beyond both ends, shim places, feet."""
    put_text(canvas, "From the phone", x, y + 91.0, 3.8, bold=True)
    set_ink(canvas, RULE, 0.4)
    canvas.setFillGray(0.97)
    canvas.rect(x * PT, (y + 8.0) * PT, 175.0 * PT, 78.0 * PT, stroke=1, fill=1)
    put_text(
        canvas, "lit diffuser: at least 20 seen beyond each end", x + 87.5, y + 80.0, 3.0, align="middle"
    )
    _box(canvas, x + 15.0, y + 14.0, 145.0, 30.0, 0.75)
    _box(canvas, x + 15.0, y + 44.4, 145.0, 30.0, 0.75)
    held = "upper leaf, held by a batten and two strips of tape on its outer edge"
    put_text(canvas, held, x + 87.5, y + 62.0, 3.0, align="middle")
    put_text(canvas, "lower leaf", x + 87.5, y + 28.0, 3.0, align="middle")
    for left in (x + 13.0, x + 156.0):
        set_ink(canvas, WARN, 0.2)
        canvas.rect(left * PT, (y + 43.6) * PT, 6.0 * PT, 1.2 * PT, stroke=1, fill=1)
    put_text(canvas, "shim, neck end", x + 22.0, y + 47.0, 3.0, colour=WARN)
    put_text(canvas, "shim, tail end", x + 153.0, y + 47.0, 3.0, colour=WARN, align="right")
    for left in (x + 30.0, x + 130.0):
        _box(canvas, left, y + 4.0, 15.0, 12.0, 0.86)
    put_text(canvas, "foot", x + 37.5, y + 8.5, 3.0, align="middle")
    put_text(canvas, "foot", x + 137.5, y + 8.5, 3.0, align="middle")
    _measure(canvas, x + 37.5, x + 137.5, y - 1.0, "feet 380 apart, middle to middle")


def _foot(canvas: Any, x: float, y: float) -> None:
    """One slotted foot, 80 x 45, full size: cut two from 18 mm plywood."""
    set_ink(canvas, INK, 0.35)
    path = canvas.beginPath()
    points = [
        (0, 0),
        (80, 0),
        (80, 20),
        (60, 45),
        (42.5, 45),
        (42.5, 15),
        (37.5, 15),
        (37.5, 45),
        (20, 45),
        (0, 20),
    ]
    path.moveTo((x + points[0][0]) * PT, (y + points[0][1]) * PT)
    for px, py in points[1:]:
        path.lineTo((x + px) * PT, (y + py) * PT)
    path.close()
    canvas.drawPath(path)
    put_text(canvas, "foot, full size: cut two, 18 thick", x + 40.0, y + 48.0, 3.0, align="middle")
    put_text(canvas, "slot 5 x 30: felt the leaf snug", x + 40.0, y + 5.0, 3.0, align="middle")
    _measure(canvas, x, x + 80.0, y - 6.0, "80")


def _strips(canvas: Any, x: float, y: float) -> None:
    """Two feeler leaves cut or folded to stand 3 mm in the joint, full size."""
    for row, words in enumerate(("neck end: 0.05 mm", "tail end: 0.15 mm")):
        bottom = y + 8.0 + 20.0 * row
        _box(canvas, x, bottom, 40.0, 10.0, 0.93)
        _line(canvas, x + 3.0, bottom, x + 3.0, bottom + 10.0, dash=(1.0, 0.8))
        put_text(canvas, words, x + 22.0, bottom + 4.0, 3.0, align="middle")
    put_text(canvas, "feeler leaves, full size", x + 20.0, y + 48.0, 3.0, align="middle")
    put_text(
        canvas,
        "in the joint only up to the dashes, 3 mm",
        x + 20.0,
        y + 1.0,
        2.8,
        align="middle",
        colour=QUIET,
    )


def _words(canvas: Any, x: float, y: float) -> None:
    for block in (_FLAT, _SHIMS, _EXPOSE):
        put_text(canvas, block[0], x, y, 3.8, bold=True)
        for words in block[1:]:
            y -= 5.0
            put_text(canvas, words, x, y, 3.1)
        y -= 9.0
    put_text(
        canvas, "Then:  seamlight seam JOINT.jpg --length 550 --shim 0.05,0.15 --lamp LAMP.jpg", x, y, 3.1
    )
