"""Where a leaf lies in the opened pair."""

import numpy as np
import pytest
from painted import painted_layout

from seamlight.layout.opening import Layout
from seamlight.outline.measure import side_edge
from seamlight.sheets.pose import poses


@pytest.mark.parametrize("n", range(4))
def test_outline_comes_to_lie_on_the_body_outline(layout: Layout, n: int) -> None:
    opening = layout.openings[n]
    for pose, placing in zip(poses(opening, layout.outline), (opening.a, opening.b), strict=True):
        body = pose.to_body(placing.outline_mm)
        sign = 1 if pose.half == "right" else -1
        assert np.allclose(body * (sign, 1), side_edge(layout.outline, pose.half), atol=1e-6)
        assert np.allclose(pose.to_leaf(body), placing.outline_mm)


@pytest.mark.parametrize("n", range(4))
def test_halves_follow_the_rule_of_ends_and_edges(layout: Layout, n: int) -> None:
    # joint on the right with neck at end 1, or on the left with neck at end 2, makes A the left half
    opening = layout.openings[n]
    a, b = poses(opening, layout.outline)
    assert a.joint_side == opening.joint_edge
    assert a.neck_end == opening.neck_end == b.neck_end
    assert b.joint_side != a.joint_side
    assert a.half == ("left" if (opening.joint_edge == "right") == (opening.neck_end == 1) else "right")
    assert not a.mirrored
    assert not b.mirrored  # both sawn faces show as they were photographed


def test_joint_lines_meet_and_lie_on_the_centre_line(layout: Layout) -> None:
    for opening in layout.openings:
        a, b = poses(opening, layout.outline)
        ends_a, ends_b = a.to_body(opening.a.joint_line_mm), b.to_body(opening.b.joint_line_mm)
        trim = layout.settings.end_trim_mm
        expected = [[0, -trim], [0, layout.outline.length_mm + trim]]
        assert np.allclose(ends_a, expected, atol=1e-6)
        assert np.allclose(ends_b, expected, atol=1e-6)


def test_turned_over_the_picture_is_mirrored() -> None:
    from dataclasses import replace

    layout = painted_layout()
    opening = layout.openings[0]
    over = replace(opening, show_face="other", a_is="right" if opening.a_is == "left" else "left")
    assert all(pose.mirrored for pose in poses(over, layout.outline))
