"""The opened pair as a picture: mirrored at the joint, in true places, the wood's colours untouched."""

from dataclasses import replace

import cv2
import numpy as np
from painted import KNOT_A, painted_flats, painted_layout

from seamlight.layout.opening import Layout, Opening
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets.book import body_view, book_matched, mirrored
from seamlight.sheets.ink import PAPER
from seamlight.sheets.opened import Look, Pictures, draw_opening
from seamlight.sheets.pose import poses

Flats = tuple[FlatLeaf, FlatLeaf]
SCALE = 1.0


def test_the_least_room_is_written_where_it_is() -> None:
    layout = painted_layout()
    flat_a, flat_b = painted_flats()
    beside = layout.openings[0]
    assert beside.spare_mm < beside.end_spare_mm

    def drawn(opening: Opening) -> np.ndarray:
        view = body_view(layout, (opening,), 1.5, margin_mm=40)
        return np.asarray(draw_opening(layout, opening, Pictures(flat_a, flat_b), view, Look(2.0, 20), "mm"))

    one, other = drawn(beside), drawn(replace(beside, end_spare_mm=2.3))
    rows, columns = np.nonzero((one != other).any(axis=2))
    high, wide = one.shape[:2]
    gone, come = rows > 0.3 * high, rows < 0.2 * high  # beside the lower bout; at the neck end
    assert gone.any()
    assert come.any()
    assert (gone | come).all()
    assert np.abs(columns[come] - wide / 2).max() < wide / 4
    assert np.abs(columns[gone] - wide / 2).min() > wide / 4


def test_knots_come_to_lie_where_they_belong(layout: Layout, flats: Flats) -> None:
    for opening in layout.openings:
        view = body_view(layout, (opening,), SCALE)
        picture = book_matched(layout, opening, *flats, SCALE, view=view).astype(int)
        for pose, leaf in zip(poses(opening, layout.outline), (layout.a, layout.b), strict=True):
            x, y = view.to_px(pose.to_body(leaf.flaws[0].outline_mm).mean(axis=0)[None])[0].astype(int)
            dark = picture[y, x].sum()
            assert dark < picture[y, x + 25].sum() - 90
            assert dark < picture[y, x - 25].sum() - 90


def test_pair_opens_as_a_mirror(layout: Layout, flats: Flats) -> None:
    opening = layout.openings[0]
    view = body_view(layout, (opening,), SCALE)
    picture = book_matched(layout, opening, *flats, SCALE, view=view).astype(float).mean(axis=2)
    smooth = cv2.blur(picture, (3, 3))
    middle = view.width // 2
    left, right = smooth[80:480, middle - 120 : middle], smooth[80:480, middle : middle + 120]
    # the layout slides B 2 mm toward end 2 of A, where the painted pair needs none
    mirror, same_way = (np.corrcoef(left[:-2].ravel(), r[2:].ravel())[0, 1] for r in (right[:, ::-1], right))
    assert mirror > 0.85
    assert mirror > same_way + 0.3


def test_wood_keeps_its_colour(layout: Layout, flats: Flats) -> None:
    picture = book_matched(layout, layout.openings[0], *flats, 2.0)
    inside = picture[300:800, 200:600].reshape(-1, 3).mean(axis=0)
    wood = flats[0].rgb[flats[0].wood].mean(axis=0)
    assert np.abs(inside - wood).max() < 6
    assert tuple(picture[0, 0]) == PAPER or picture[0, 0].sum() > 0


def test_without_b_the_mirrored_a_stands_in(layout: Layout, flats: Flats) -> None:
    with_b = book_matched(layout, layout.openings[0], flats[0], mirrored(flats[0]), SCALE)
    assert np.array_equal(with_b, book_matched(layout, layout.openings[0], flats[0], None, SCALE))
    knot = KNOT_A.mean(axis=0) * (-1, 1) + (flats[0].outline_mm[:, 0].max(), 0)
    x, y = (knot * flats[0].px_per_mm).astype(int)
    assert mirrored(flats[0]).rgb[y, x].sum() < 300


def test_other_faces_show_their_own_picture(flats: Flats) -> None:
    layout = painted_layout()
    opening = layout.openings[0]
    over = replace(opening, show_face="other", a_is="right" if opening.a_is == "left" else "left")
    green = replace(flats[0], rgb=np.full_like(flats[0].rgb, 0) + np.array([10, 200, 30], np.uint8))
    picture = book_matched(layout, over, *flats, SCALE, other_a=green, other_b=green)
    assert tuple(picture[200, 100]) == (10, 200, 30)
    seen_through = book_matched(layout, over, *flats, SCALE)
    assert tuple(seen_through[200, 100]) != (10, 200, 30)
