"""Outline files judged by other programs: pdftoppm measures the print, ezdxf and svgelements read back.

pdftoppm is Poppler's; ezdxf and svgelements are general-purpose readers of DXF and SVG.
"""

import shutil
import subprocess
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
import svgelements
from PIL import Image

from seamlight.outline import Outline, half_perimeter_mm, load, named, names, polygon, widths
from seamlight.sheets.outline import sheet_outline
from seamlight.sheets.outline_drawing import full_size
from seamlight.sheets.page import MARGIN_MM, PAPER_MM
from seamlight.sheets.tiles import tiling

DPI = 254  # ten pixels to the mm
PX_PER_MM = DPI / 25.4

# Half perimeters of the half outlines shared with these tests, mm: recomputed from the files' own points by
# Shapely below; the rounded figures are computed ones, common practice, no source.
HALF_PERIMETERS_MM = {
    "parlour": 684,
    "small concert": 708,
    "concert": 725,
    "auditorium": 746,
    "large auditorium": 779,
    "dreadnought": 759,
    "jumbo": 819,
    "classical": 732,
}


def printed(pdf: Path, folder: Path) -> list[np.ndarray]:
    """Grey pages, as printed at ten pixels to the mm without anti-aliasing."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("needs pdftoppm, absent here")
    command = [
        "pdftoppm",
        "-r",
        str(DPI),
        "-gray",
        "-aa",
        "no",
        "-aaVector",
        "no",
        str(pdf),
        str(folder / "page"),
    ]
    subprocess.run(command, check=True)
    return [np.asarray(Image.open(page)) for page in sorted(folder.glob("page*.pgm"))]


def longest_run(row: np.ndarray) -> int:
    """Most dark pixels in a row."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "roll"])
def test_the_check_bars_measure_150_mm_both_ways(paper: str, tmp_path: Path) -> None:
    pdf = tmp_path / "outline.pdf"
    sheet_outline(named("parlour"), pdf, paper)
    for page in printed(pdf, tmp_path):
        dark = page < 128
        foot, side = dark[-round(12 * PX_PER_MM) :], dark[:, : round(12 * PX_PER_MM)]
        assert max(map(longest_run, foot)) / PX_PER_MM == pytest.approx(150, abs=0.2)
        assert max(map(longest_run, side.T)) / PX_PER_MM == pytest.approx(150, abs=0.2)


def taped(pages: list[np.ndarray], outline: Outline, paper: str) -> tuple[np.ndarray, tuple[float, float]]:
    """The sheets laid together by their places in the grid, True where dark; and the top-left corner, mm."""
    box = full_size(outline, half=False, unit="mm", left_handed=False).box_mm
    sheets = tiling(box, PAPER_MM[paper], MARGIN_MM)  # type: ignore[index]
    first, last = sheets.tiles[0], sheets.tiles[-1]
    width = last.left_mm + sheets.window_mm[0] - first.left_mm
    height = last.top_mm + sheets.window_mm[1] - first.top_mm
    whole = np.zeros((round(height * PX_PER_MM) + 1, round(width * PX_PER_MM) + 1), dtype=bool)
    margin = round(MARGIN_MM * PX_PER_MM)
    for tile, page in zip(sheets.tiles, pages, strict=True):
        window = page[margin:-margin, margin:-margin] < 100
        y, x = (
            round((tile.top_mm - first.top_mm) * PX_PER_MM),
            round((tile.left_mm - first.left_mm) * PX_PER_MM),
        )
        part = whole[y : y + window.shape[0], x : x + window.shape[1]]
        part |= window[: part.shape[0], : part.shape[1]]
    return whole, (first.left_mm, first.top_mm)


@pytest.mark.parametrize(("name", "paper"), [("large auditorium", "a4"), ("jumbo", "letter")])
def test_the_taped_sheets_carry_the_outline_at_full_size(name: str, paper: str, tmp_path: Path) -> None:
    """Every point of the outline is within 0.2 mm of ink, and so are the places of its greatest widths."""
    outline = named(name)
    pdf = tmp_path / "outline.pdf"
    sheet_outline(outline, pdf, paper)
    whole, (left, top) = taped(printed(pdf, tmp_path), outline, paper)
    ring = polygon(outline)
    at = np.round((ring - (left, top)) * PX_PER_MM - 0.5).astype(int)
    near = np.array([whole[y - 2 : y + 3, x - 2 : x + 3].any() for x, y in at])
    assert near.all()
    widest = widths(outline).lower_bout_mm
    y_mm = outline.half_mm[np.argmax(outline.half_mm[:, 0]), 1]
    across = np.flatnonzero(whole[round((y_mm - top) * PX_PER_MM)]) - (-left * PX_PER_MM)
    edges = across[
        np.abs(np.abs(across) - widest / 2 * PX_PER_MM) < 5
    ]  # ink within 0.5 mm of the widest place
    assert (edges.max() - edges.min()) / PX_PER_MM == pytest.approx(
        widest, abs=0.45
    )  # a line is 0.35 mm wide


def test_ezdxf_reads_back_the_outline_in_mm(tmp_path: Path) -> None:
    outline = named("dreadnought")
    sheet_outline(outline, tmp_path / "outline.dxf")
    document = ezdxf.readfile(tmp_path / "outline.dxf")
    assert document.units == ezdxf.units.MM
    assert not document.audit().errors
    (drawn,) = document.modelspace().query('LWPOLYLINE[layer=="outline"]')
    points = np.array(drawn.get_points("xy")) * (1, -1)
    assert drawn.closed
    assert np.abs(points - polygon(outline)).max() < 1e-9
    bars = document.modelspace().query('LINE[layer=="check bars"]')
    assert sorted(round((bar.dxf.end - bar.dxf.start).magnitude, 9) for bar in bars) == [150, 150]


def test_svgelements_reads_back_the_outline_in_mm(tmp_path: Path) -> None:
    outline = named("classical")
    sheet_outline(outline, tmp_path / "outline.svg")
    document = svgelements.SVG.parse(str(tmp_path / "outline.svg"), ppi=25.4)  # so that a unit is a mm
    (drawn,) = [shape for shape in document.elements() if getattr(shape, "id", None) == "outline"]
    x0, y0, x1, y1 = drawn.bbox()
    assert x1 - x0 == pytest.approx(widths(outline).lower_bout_mm, abs=1e-3)
    assert y1 - y0 == pytest.approx(outline.half_mm[-1, 1], abs=1e-3)
    bars = [
        shape for shape in document.elements() if getattr(shape, "values", {}).get("class") == "check bars"
    ]
    sizes = sorted(max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in (bar.bbox() for bar in bars))
    assert sizes == pytest.approx([150, 150], abs=1e-3)


@pytest.mark.parametrize("suffix", ["dxf", "svg"])
@pytest.mark.parametrize("name", names())
def test_our_own_files_load_as_the_same_outline(name: str, suffix: str, tmp_path: Path) -> None:
    outline = named(name)
    sheet_outline(outline, tmp_path / f"own.{suffix}")
    back = load(tmp_path / f"own.{suffix}")
    assert back.left_half_mm is None
    assert back.half_mm[-1, 1] == pytest.approx(outline.half_mm[-1, 1], abs=0.005)
    apart = shapely.Polygon(polygon(back)).hausdorff_distance(shapely.Polygon(polygon(outline)))
    assert apart < 0.01


@pytest.mark.parametrize("name", names())
def test_the_shared_half_outlines_load(name: str, shared_data: Path) -> None:
    path = shared_data / "outlines" / f"{name.replace(' ', '-')}-half.dxf"
    outline, generic = load(path), named(name)
    (drawn,) = ezdxf.readfile(path).modelspace().query("LWPOLYLINE")
    points = np.array(drawn.get_points("xy"))
    assert outline.half_mm[-1, 1] == pytest.approx(generic.half_mm[-1, 1], abs=1e-6)
    assert tuple(widths(outline)) == pytest.approx(tuple(widths(generic)), abs=0.01)
    assert half_perimeter_mm(outline) == pytest.approx(shapely.LineString(points).length, abs=0.05)
    assert round(half_perimeter_mm(outline)) == HALF_PERIMETERS_MM[name]
    assert outline.left_half_mm is None
