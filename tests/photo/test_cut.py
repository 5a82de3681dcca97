"""What is leaf and what is not, on benches made of plain numbers."""

import numpy as np
import pytest
import shapely

from seamlight.mistake import Mistake
from seamlight.photo import lay_flat, parse_scale
from seamlight.photo.picture import Picture

BENCHES = {"dark": (50, 48, 47), "light": (210, 205, 196), "green": (50, 95, 70), "brown": (140, 100, 70)}


def bench(colour=(120, 120, 118), size=(900, 1200), seed=5) -> np.ndarray:
    """(h, w, 3) a plain bench with a light that falls off across it."""
    dice = np.random.default_rng(seed)
    rows, columns = size
    fall = np.linspace(1.15, 0.85, columns)[None, :, None] * np.linspace(1.05, 0.95, rows)[:, None, None]
    return np.clip(np.array(colour) * fall + dice.normal(0, 3, (rows, columns, 3)), 0, 255)


def lay(picture: np.ndarray, x: int, y: int, width: int, length: int, tint=(212, 172, 122)) -> None:
    """A board with its grain down, put into the picture."""
    dice = np.random.default_rng(x + y)
    lines = 10 * np.sin(np.arange(width) / 2.5)[None, :, None]
    board = np.array(tint) + lines + dice.normal(0, 3, (length, width, 3))
    part = picture[y : y + length, x : x + width]
    part[:] = np.clip(board, 0, 255)[: part.shape[0], : part.shape[1]]


def read(picture: np.ndarray, spec="2px/mm", **how):
    return lay_flat(
        Picture(np.clip(picture, 0, 255).astype(np.uint8), name="leaf.jpg"), parse_scale(spec), **how
    )


@pytest.mark.parametrize("colour", BENCHES.values(), ids=BENCHES)
@pytest.mark.parametrize("tint", [(212, 172, 122), (88, 60, 46)], ids=["pale wood", "dark wood"])
def test_on_benches_darker_and_lighter_than_the_wood(colour, tint):
    picture = bench(colour)
    lay(picture, 300, 100, 300, 720, tint)
    (flat,) = read(picture)
    assert flat.length_mm == pytest.approx(360, abs=0.5)
    assert flat.width_end1_mm == pytest.approx(150, abs=0.4)
    assert flat.width_end2_mm == pytest.approx(150, abs=0.4)
    assert not flat.holes_mm


def test_taper_a_chipped_corner_and_a_hole():
    picture = bench()
    lay(picture, 300, 100, 320, 720)
    rows, columns = np.mgrid[:900, :1200]
    plain = bench(seed=6)
    gone = (columns > 620 - 40 * (rows - 100) / 720) | (columns + rows < 440)
    gone |= np.hypot(columns - 450, rows - 500) < 14
    picture[gone] = plain[gone]
    (flat,) = read(picture)
    assert flat.width_end1_mm == pytest.approx(160, abs=0.6)
    assert flat.width_end2_mm == pytest.approx(140, abs=0.6)
    (hole,) = flat.holes_mm
    assert shapely.Polygon(hole).area == pytest.approx(np.pi * 7**2, rel=0.15)
    outline = shapely.Polygon(flat.outline_mm)
    whole = (160 + 140) / 2 * 360
    assert outline.area == pytest.approx(whole - 20 * 20 / 2, rel=0.01)
    assert flat.wood.sum() / flat.px_per_mm**2 == pytest.approx(outline.area - np.pi * 49, rel=0.01)


def test_a_soft_shadow_and_a_ruler_are_no_leaf():
    picture = bench((190, 186, 178))
    rows, columns = np.mgrid[:900, :1200]
    shade = np.clip(1 - np.hypot(np.maximum(columns - 610, 0), np.maximum(rows - 830, 0)) / 30, 0, 1)
    picture *= (1 - 0.45 * shade * (columns > 330) * (rows > 120))[:, :, None]
    picture[60:780, 800:850] = (235, 235, 230)
    lay(picture, 300, 100, 300, 720)
    (flat,) = read(picture)
    assert flat.length_mm == pytest.approx(360, abs=0.8)
    assert flat.width_end1_mm == pytest.approx(150, abs=0.6)


def test_a_leaf_across_the_picture_is_turned_a_quarter_clockwise():
    picture = bench(size=(1200, 900))
    lay(picture, 300, 100, 300, 720)
    picture = np.rot90(picture)  # counter-clockwise: what was the top lies to the left
    (flat,) = read(picture.copy())
    assert flat.length_mm == pytest.approx(360, abs=0.5)
    top = flat.to_picture.to_photo(np.array([[75.0, 0.0]]))[0]
    assert top[0] < 150


def test_a_board_that_runs_out_of_the_picture_at_both_ends():
    picture = bench((30, 32, 30), size=(500, 1200))
    lay(picture, 100, 0, 950, 500)
    (flat,) = read(picture, "4px/mm")
    assert flat.length_mm == pytest.approx(125, abs=0.5)
    assert flat.width_end1_mm == pytest.approx(237.5, abs=0.4)
    assert any("end 1 and end 2" in said for said in flat.warnings)


@pytest.mark.parametrize("across", [False, True])
def test_a_picture_of_nothing_but_wood_keeps_its_own_columns(across):
    picture = bench()
    lay(picture, 0, 0, 1200, 900)
    if across:
        picture = np.rot90(picture).copy()
    (flat,) = read(picture, "3px/mm")
    assert flat.length_mm == pytest.approx(300, abs=0.1)
    assert flat.width_end1_mm == pytest.approx(400, abs=0.1)
    assert flat.wood.all()


def leaves_of(count: int) -> np.ndarray:
    picture = bench(size=(900, 1300))
    for index in range(count):
        lay(picture, 60 + 300 * index, 100, 260, 700)
    return picture


@pytest.mark.parametrize(
    ("picture", "spec", "leaves", "words"),
    [
        (np.zeros((900, 1200, 3)), "4px/mm", "one", "all black"),
        (np.full((900, 1200, 3), 255.0), "4px/mm", "one", "no leaf"),
        (bench(), "4px/mm", "one", "no leaf"),
        (bench(), "tags", "one", "no target sheet"),
        (leaves_of(1), "tags", "one", "no target sheet"),
        (leaves_of(2), "2px/mm", "one", "two leaves"),
        (leaves_of(3), "2px/mm", "one", "three leaves"),
        (leaves_of(3), "2px/mm", "pair", "three leaves"),
        (leaves_of(4), "2px/mm", "pair", "four leaves"),
    ],
)
def test_what_cannot_be_read_is_one_line_that_says_what_to_do(picture, spec, leaves, words):
    with pytest.raises(Mistake, match=words) as caught:
        read(picture, spec, leaves=leaves)
    assert "\n" not in str(caught.value)
    assert caught.value.do


def test_a_cut_off_leaf_gives_no_scale_by_its_size():
    picture = bench()
    lay(picture, 300, 0, 300, 720)
    with pytest.raises(Mistake, match="runs out of the picture"):
        read(picture, "size=360x150")


def test_two_leaves_with_a_gap_are_a_pair_from_left_to_right():
    flats = read(leaves_of(2), leaves="pair")
    lefts = [flat.to_picture.to_photo(np.array([[0.0, 100.0]]))[0, 0] for flat in flats]
    assert lefts == pytest.approx([60, 360], abs=1)
