"""Published photographs of sawn boards on a black belt: cut out along both long edges.

Pictures: Kodytek, Bodzas, Bilik 2021, DOI 10.5281/zenodo.4694695, CC BY 4.0. The boards run out of the
    picture at
both ends. There is no published outline; the edges are compared with a plain one: where, on each row, the
brightness first and last passes half of the board's own.
"""

import cv2
import numpy as np
import pytest

from seamlight.photo import lay_flat, open_picture, parse_scale
from seamlight.photo.ring import spaced

BOARDS = (
    "100000002", "100000012", "100000015", "100100084", "100200004", "100200005", "99100024", "99300018",
    "99300019", "99300064", "99900001", "99900035", "99900041", "99900045", "99900062", "99900083",
)  # fmt: skip


def plain_edges(rgb: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(h,) x of the left and right edge on each row."""
    light = cv2.blur(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), (5, 5)).astype(float)
    half = np.median(light[:, light.shape[1] // 4 : 3 * light.shape[1] // 4]) / 2
    bright = cv2.morphologyEx((light > half).astype(np.uint8), cv2.MORPH_OPEN, np.ones((1, 101), np.uint8))
    return np.argmax(bright, axis=1), bright.shape[1] - np.argmax(bright[:, ::-1], axis=1)


@pytest.mark.parametrize("name", BOARDS)
def test_both_long_edges_of_a_board_on_the_belt(shared_data, name):
    picture = open_picture(shared_data / "boards" / f"{name}.jpg")
    (flat,) = lay_flat(picture, parse_scale("4px/mm"))
    height, width = picture.rgb.shape[:2]
    outline = flat.to_picture.to_photo(spaced(flat.outline_mm, 1.0))
    inner = outline[(outline[:, 1] > 25) & (outline[:, 1] < height - 25)]
    left, right = plain_edges(picture.rgb)
    rows = np.clip(inner[:, 1].astype(int), 0, height - 1)
    on_left = inner[:, 0] < width / 2
    off = np.where(on_left, inner[:, 0] - left[rows], inner[:, 0] - right[rows])
    assert on_left.any()
    assert (~on_left).any()
    assert np.percentile(np.abs(off), 80) < 10  # px of about 2450 across; the edges themselves are rough
    lean = np.abs(flat.to_picture.turn[0, 1])  # sine: the belt ran a little askew
    assert flat.length_mm == pytest.approx((height + lean * np.median(right - left)) / 4, abs=1)
    assert flat.width_end1_mm == pytest.approx(np.median(right - left) / 4, abs=6)
    assert any("cuts off end 1 and end 2" in said for said in flat.warnings)
