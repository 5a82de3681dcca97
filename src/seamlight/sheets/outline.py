"""The sheet `outline`: a body's plan shape at full size, to print, tape and cut out, or to cut by machine."""

from __future__ import annotations

from pathlib import Path

from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.sheets.outline_cut import write_dxf, write_svg
from seamlight.sheets.outline_drawing import full_size
from seamlight.sheets.outline_pdf import write_pdf
from seamlight.sheets.page import paper_of
from seamlight.units import Unit


def sheet_outline(
    outline: Outline,
    path: Path | str,
    paper: str = "a4",
    *,
    half: bool = False,
    unit: Unit = "mm",
    left_handed: bool = False,
) -> None:
    """Writes an outline at full size as PDF, DXF or SVG, by the ending of the file's name.

    Args:
        outline: the plan shape; a back (no soundhole, no bridge) is drawn as seen from behind.
        path: the file to write, whole or not at all.
        paper: a4, letter, a3 or roll; of a PDF only.
        half: the right half alone, as a half template.
        unit: which unit measures name first.
        left_handed: swaps bass and treble side.

    Raises:
        Mistake: another ending, no such paper, a half of unlike halves, or a folder that is not there.
    """
    if half and outline.left_half_mm is not None:
        raise Mistake(
            "its halves differ, so half a template is not enough", where=outline.name, do="draw it whole"
        )
    drawing = full_size(outline, half=half, unit=unit, left_handed=left_handed)
    suffix = Path(path).suffix.lower()
    if suffix == ".pdf":
        write_pdf(drawing, path, paper_of(paper))
    elif suffix == ".dxf":
        write_dxf(drawing, path)
    elif suffix == ".svg":
        write_svg(drawing, path)
    else:
        raise Mistake(
            "an outline is written as PDF, DXF or SVG",
            where=str(path),
            do="end the name in .pdf, .dxf or .svg",
        )
