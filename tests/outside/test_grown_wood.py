"""The truth of the grown wood against libraries that know nothing of it.

Sources: scikit-image's structure tensor (S. van der Walt et al., PeerJ 2:e453, 2014) for the direction of the
lines; OpenCV's projectPoints for the lens (its radial term k1, in focal lengths, is ours in half diagonals).
"""

import cv2
import numpy as np
from skimage.feature import structure_tensor

from seamlight.demo import saw, wood
from seamlight.demo.lens import stand


def plain_direction_deg(gray: np.ndarray, sigma_px: float) -> np.ndarray:
    """Direction of the lines by scikit-image's structure tensor, positive to the right going down."""
    rr, rc, cc = structure_tensor(gray, sigma=sigma_px, order="rc")
    # the lines run square to the greatest gradient: tan(2 a) = 2 Jrc / (Jcc - Jrr), a from the columns' axis
    return -np.degrees(0.5 * np.arctan2(2 * rc, cc - rr))


def test_direction_of_the_drawn_lines_is_the_truth_to_a_tenth_of_a_degree() -> None:
    # its derivatives shrink angles of lines only a few pixels apart: ask at 14 px/mm, well softened
    log = wood.grow_log(61, ring_mm=1.6)
    pair = saw.saw_pair(
        log, 61, streaks=0.0, saw_marks=0.0, grain_deg=1.5, length_mm=130, width_mm=70, rough_mm=0.0
    )
    face = saw.face(pair.a, px_per_mm=14.0, noise=0.0)
    gray = cv2.GaussianBlur(face.rgb.mean(axis=2), (0, 0), 3.0)
    seen = plain_direction_deg(gray, 40.0)
    rows, cols = np.mgrid[200:1600:50, 160:800:50]
    truth = face.direction_deg((cols + 0.5) / 14, (rows + 0.5) / 14)
    off = seen[rows, cols] - truth
    assert abs(np.median(off)) < 0.05
    assert np.median(np.abs(off)) < 0.15


def test_a_rough_sawn_face_fools_a_plain_structure_tensor_as_published_boards_do() -> None:
    log = wood.grow_log(5, "Engelmann spruce", ring_mm=1.1)
    face = saw.face(saw.saw_pair(log, 5, streaks=0.7, ripple=1.0).a, contrast=0.6)
    gray = cv2.GaussianBlur(face.rgb[200:1200].mean(axis=2), (0, 0), 1.0)
    seen = plain_direction_deg(gray, 8.0)[60:-60:16, 60:-60:16]
    assert (np.abs(seen) > 30).mean() > 0.25


def test_the_lens_is_opencvs() -> None:
    corners = np.array([[0.0, 0.0], [700.0, 30.0], [650.0, 560.0], [0.0, 500.0]])
    camera = stand(corners, 12, False, 26, 20.0, 130.0, 5.0, -0.015, 0.04)
    world = np.column_stack([corners, np.full(4, -4.5)])
    matrix = np.array(
        [[camera.focal_px, 0, camera.cols / 2], [0, camera.focal_px, camera.rows / 2], [0, 0, 1]]
    )
    k1 = camera.distortion * (camera.focal_px / camera.half_diagonal_px) ** 2
    turn, _ = cv2.Rodrigues(camera.rotation)
    seen, _ = cv2.projectPoints(
        world, turn, -camera.rotation @ camera.eye_mm, matrix, np.array([k1, 0, 0, 0, 0])
    )
    assert np.allclose(seen[:, 0], camera.to_px(corners, 4.5), atol=1e-6)
