"""Markers of a published photograph of a tilted board: found, measured, and laid flat by our own camera.

Picture: OpenCV documentation (Apache-2.0), `choriginal.jpg`: a board of 5 x 7 squares of 40 mm with 20 mm
    markers of
the dictionary 6x6_250, sizes nominal. The two marker rows and the corners of the squares follow from that; a
plane fit of 0.18 mm rms is on record for it.
"""

import cv2
import numpy as np
import pytest

from seamlight.photo.planes import SeenPlane
from seamlight.photo.pose import Piece, fit_pieces
from seamlight.photo.tags import find_tags

COLUMNS, ROWS, SQUARE_MM, MARKER_MM = 5, 7, 40.0, 20.0
CELLS = 8  # 6 x 6 bits and a border
BLUR_PX = 2.0  # of a marker's edge


def marker_corners_mm() -> dict[int, np.ndarray]:
    """Corners of each marker, clockwise from its top left: white squares in reading order, counted from 0."""
    corners, square = {}, MARKER_MM * np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    rim = (SQUARE_MM - MARKER_MM) / 2
    for row in range(ROWS):
        for column in range(COLUMNS):
            if (row + column) % 2 == 1:
                corners[len(corners)] = square + np.array([column, row]) * SQUARE_MM + rim
    return corners


@pytest.fixture(scope="module")
def board(shared_data):
    bgr = cv2.imread(str(shared_data / "tags" / "choriginal.jpg"))
    rgb = np.ascontiguousarray(bgr[..., ::-1])
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    return rgb, {tag.id: tag for tag in find_tags(rgb, rgb, 1, dictionary, CELLS)}


def fitted(rgb, mm, px, doubt):
    """The board's plane as our own camera sees it, with nothing said of its focal length."""
    fit = fit_pieces([Piece(mm, px, doubt, np.zeros_like(mm))], (rgb.shape[1], rgb.shape[0]), None)
    return SeenPlane(fit.camera, 0.0)


def marker_plane(rgb, tags):
    """The plane fitted to the marker corners."""
    mm = np.concatenate([marker_corners_mm()[tag_id] for tag_id in tags])
    px = np.concatenate([tag.corners_px for tag in tags.values()])
    doubt = np.hypot(np.repeat([tag.doubt_px for tag in tags.values()], 4), 0.05)
    return fitted(rgb, mm, px, doubt), mm, px


def square_corners(rgb, tags):
    """The 24 inner corners, mm and px: OpenCV's corner finder started where the marker plane puts them.

    It looks as far around each corner as the nearest marker allows (10 to 18 px here): a window of a few px
    sees too little of edges blurred over two or three; 8 x 8 px leave 0.29 mm rms where this leaves 0.17.
    """
    plane, _, markers_px = marker_plane(rgb, tags)
    x, y = np.meshgrid(np.arange(1, COLUMNS), np.arange(1, ROWS))
    corners_mm = SQUARE_MM * np.stack([x.ravel(), y.ravel()], axis=1).astype(float)
    start = plane.to_px(corners_mm)
    clear = np.abs(markers_px[None] - start[:, None]).max(axis=2).min(axis=1) - BLUR_PX
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 50, 0.001)
    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    found = []
    for at, half in zip(start - 0.5, clear.astype(int), strict=True):
        guess = at.astype(np.float32).reshape(1, 1, 2).copy()
        found.append(cv2.cornerSubPix(gray, guess, (int(half), int(half)), (-1, -1), stop))
    found_px = np.reshape(found, (-1, 2)).astype(float) + 0.5
    return corners_mm, found_px, np.linalg.norm(found_px - start, axis=1)


def test_all_17_markers_are_found(board):
    _, tags = board
    assert sorted(tags) == list(range(17))


def test_the_markers_foretell_the_24_corners_of_the_squares(board):
    """They were no part of the fit; 22 px are a marker of 20 mm, so 0.6 px are about 0.5 mm."""
    rgb, tags = board
    corners_mm, _, moved_px = square_corners(rgb, tags)
    assert len(corners_mm) == 24
    assert np.sqrt(np.mean(moved_px**2)) < 0.6


def test_the_24_corners_of_the_squares_lie_on_one_plane_within_0_3_mm(board):
    rgb, tags = board
    corners_mm, found_px, _ = square_corners(rgb, tags)
    plane = fitted(rgb, corners_mm, found_px, np.full(24, 0.1))
    off = np.linalg.norm(plane.to_mm(found_px) - corners_mm, axis=1)
    assert np.sqrt(np.mean(off**2)) < 0.3
    assert off.max() < 0.9


def test_single_markers_of_another_photograph(shared_data):
    """ids as in data/README.md of the shared pictures: 23, 40, 62, 98, 124, 203."""
    bgr = cv2.imread(str(shared_data / "tags" / "singlemarkersoriginal.jpg"))
    rgb = np.ascontiguousarray(bgr[..., ::-1])
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    assert sorted(tag.id for tag in find_tags(rgb, rgb, 1, dictionary, CELLS)) == [23, 40, 62, 98, 124, 203]
