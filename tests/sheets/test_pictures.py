"""The pictures a maker chooses by: what stands on them, on light wood and on dark."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from painted import painted_layout
from PIL import Image

from seamlight.grain.reading import Reading
from seamlight.layout.opening import Layout, Short
from seamlight.mistake import Mistake
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.book import body_view, book_matched
from seamlight.sheets.ink import WARN, cut_to, fold, width_px
from seamlight.sheets.lines import Layer, Stroke, dashes, hatching
from seamlight.sheets.opened import Look, Pictures, draw_opening
from seamlight.sheets.openings import openings_picture
from seamlight.sheets.picture_file import save_picture
from seamlight.sheets.reading import direction_ticks, grain_lines, reading_picture

Flats = tuple[FlatLeaf, FlatLeaf]


def toned(flat: FlatLeaf, level: int) -> FlatLeaf:
    return replace(flat, rgb=np.full_like(flat.rgb, level))


@pytest.mark.parametrize("level", [18, 235])
def test_lines_show_on_ebony_and_on_spruce(layout: Layout, flats: Flats, level: int) -> None:
    opening = layout.openings[0]
    view = body_view(layout, (opening,), 2.0)
    plain = (toned(flats[0], level), toned(flats[1], level))
    bare = book_matched(layout, opening, *plain, 2.0, view=view).astype(int)
    drawn = np.asarray(draw_opening(layout, opening, Pictures(*plain), view, Look(), "mm")).astype(int)
    for half in layout.outline.half_mm[60:-60:40]:
        x, y = view.to_px(half[None])[0].astype(int)
        near = (slice(y - 3, y + 4), slice(x - 3, x + 4))
        assert np.abs(drawn[near] - bare[near]).max() > 120


def test_wood_away_from_lines_is_never_tinted(layout: Layout, flats: Flats) -> None:
    opening = layout.openings[0]
    view = body_view(layout, (opening,), 2.0)
    bare = book_matched(layout, opening, *flats, 2.0, view=view)
    drawn = np.asarray(draw_opening(layout, opening, Pictures(*flats), view, Look(), "mm"))
    changed = np.any(bare != drawn, axis=2)
    assert changed.mean() < 0.1
    assert np.array_equal(bare[~changed], drawn[~changed])


def test_shortage_is_marked_where_it_is(layout: Layout, flats: Flats) -> None:
    opening = next(o for o in layout.openings if not o.fits)
    view = body_view(layout, (opening,), 2.0)
    drawn = np.asarray(draw_opening(layout, opening, Pictures(*flats), view, Look(), "mm")).astype(int)
    y = np.flatnonzero((np.abs(drawn[:, 30:] - WARN).sum(axis=2) < 12).any(axis=1)) / 2.0 + view.top_mm
    assert y.min() > opening.short[0].from_mm - 8
    assert y.max() < opening.short[0].to_mm + 8
    fitting = layout.openings[0]
    drawn = np.asarray(draw_opening(layout, fitting, Pictures(*flats), view, Look(), "mm")).astype(int)
    assert not (np.abs(drawn - WARN).sum(axis=2) < 12).any()


@pytest.mark.parametrize("stretch", [(-6.0, -0.5), (508.0, 514.0)])
def test_shortage_beyond_an_end_is_marked_across_it(
    layout: Layout, flats: Flats, stretch: tuple[float, float]
) -> None:
    short = (Short("a", 5.5, *stretch),)
    opening = replace(layout.openings[0], fits=False, spare_mm=3.0, end_spare_mm=-5.5, short=short)
    view = body_view(layout, (opening,), 2.0)
    drawn = np.asarray(draw_opening(layout, opening, Pictures(*flats), view, Look(), "mm")).astype(int)
    marked = np.flatnonzero((np.abs(drawn - WARN).sum(axis=2) < 12).any(axis=1)) / 2.0 + view.top_mm
    end = 0.0 if stretch[0] < 0 else 508.0
    assert abs(marked.mean() - end) < 8


@pytest.mark.parametrize("columns", [1, 2])
def test_openings_picture_holds_all_openings(layout: Layout, flats: Flats, columns: int) -> None:
    picture = openings_picture(layout, *flats, columns=columns)
    assert picture.dtype == np.uint8
    assert picture.shape[1] == columns * 824 + 24
    rows = int(np.ceil(len(layout.openings) / columns))
    assert picture.shape[0] > rows * 1200
    one = openings_picture(replace(layout, openings=layout.openings[:1]), flats[0], None, columns=1)
    assert one.shape[1] == 848


def test_inches_and_eight_openings(flats: Flats) -> None:
    layout = painted_layout()
    over = [
        replace(o, show_face="other", a_is="right" if o.a_is == "left" else "left") for o in layout.openings
    ]
    every = replace(layout, openings=(*layout.openings, *over))
    assert openings_picture(every, *flats, units="inch").shape[0] > 4 * 1200


def test_direction_ticks_and_lines_follow_the_field(reading: Reading) -> None:
    ticks = direction_ticks(reading.field)
    assert len(ticks) > 100
    for tick in ticks[::17]:
        x, y = tick.mean(axis=0)
        slope = -(2.5 / 160 * np.cos(y / 160) + 0.01)
        assert (tick[1] - tick[0])[0] / (tick[1] - tick[0])[1] == pytest.approx(slope, abs=2e-3)
        assert x < 214
    for line in grain_lines(reading.field):
        # the painted ring lines keep x + 2.5 sin(y / 160) + 0.01 y
        kept = line[:, 0] + 2.5 * np.sin(line[:, 1] / 160) + 0.01 * line[:, 1]
        assert np.ptp(kept) < 0.05


def test_reading_picture(reading: Reading) -> None:
    picture = reading_picture(reading)
    assert picture.shape[0] > 1100
    bare = replace(reading, flaws=(), end=None, angle_deg=None, wander_mm=None)
    assert reading_picture(bare, units="inch").shape == picture.shape


def test_dashes_and_hatching_stay_on_their_shapes() -> None:
    pieces = dashes(np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 7.0]]), 3.0, 2.0)
    lengths = [float(np.hypot(*np.diff(p, axis=0).T).sum()) for p in pieces]
    assert lengths == pytest.approx([3, 3, 3, 2])
    square = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])
    lines = np.vstack(hatching(square, 5.0))
    assert lines.min() > -1e-6
    assert lines.max() < 40 + 1e-6
    assert hatching(np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]), 5.0) == []


def test_a_line_is_light_with_a_dark_edge() -> None:
    picture = Image.new("RGB", (60, 40), (128, 128, 128))
    layer = Layer(60, 40)
    layer.line(np.array([[5.0, 20.0], [55.0, 20.0]]), Stroke(4.0, 2.0))
    layer.over(picture)
    column = np.asarray(picture).astype(int)[:, 30].sum(axis=1)
    assert column[20] > 700
    assert column[16:18].min() < 150
    assert column[23:25].min() < 150


def test_folded_text_keeps_to_its_room() -> None:
    text = "a knot of 10 mm lies in the open, 96 mm from the seam, averyveryverylongwordwithoutanyblanks"
    lines = fold(text, 160, 20)
    assert max(width_px(line, 20) for line in lines) <= 160
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert width_px(cut_to(text, 160, 20), 20) <= 160


def test_pictures_are_written_whole(tmp_path: Path, flats: Flats) -> None:
    save_picture(tmp_path / "a.png", flats[0].rgb)
    assert np.array_equal(np.asarray(Image.open(tmp_path / "a.png")), flats[0].rgb)
    with pytest.raises(Mistake, match="ends in"):
        save_picture(tmp_path / "a.txt", flats[0].rgb)
    assert [p.name for p in tmp_path.iterdir()] == ["a.png"]
