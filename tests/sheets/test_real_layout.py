"""From the invented shop's wood through the real layout to the sheets."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from shapely.geometry import LineString, Point, Polygon

from seamlight.demo import saw, wood
from seamlight.layout.opening import Layout, LayoutSettings
from seamlight.layout.openings import lay_out
from seamlight.layout.pair import Leaf, Registration
from seamlight.outline import named
from seamlight.outline.measure import side_edge
from seamlight.photo.flat import FlatLeaf
from seamlight.sheets import marking_sheet, openings_picture
from seamlight.sheets.pose import poses
from seamlight.sheets.setting_out import set_out

Laid = tuple[Layout, FlatLeaf, FlatLeaf]


@pytest.fixture(scope="module")
def laid() -> Laid:
    log = wood.grow_log(11, species="western redcedar", knots=2)
    pair = saw.saw_pair(log, 11, length_mm=560, width_mm=214, thickness_mm=4.5)
    faces = [saw.face(leaf, "sawn", px_per_mm=1.5) for leaf in (pair.a, pair.b)]
    flats = [face.as_flat() for face in faces]
    leaves = [
        Leaf(
            flat.outline_mm,
            face.flaws,
            field=face.field,
            width_mm=float(flat.outline_mm[:, 0].max()),
            length_mm=float(flat.outline_mm[:, 1].max()),
        )
        for face, flat in zip(faces, flats, strict=True)
    ]
    lying = Registration(0.9, slide_mm=pair.slide_mm, across_mm=pair.across_mm, rotate_deg=pair.rotate_deg)
    settings = LayoutSettings(wedge_angle_deg=1.0)
    return lay_out(*leaves, lying, named("auditorium"), settings, smaller=()), *flats


def test_outlines_lie_on_the_body_and_joints_meet(laid: Laid) -> None:
    layout = laid[0]
    for opening in layout.openings:
        for pose, place in zip(poses(opening, layout.outline), (opening.a, opening.b), strict=True):
            sign = 1 if pose.half == "right" else -1
            body = pose.to_body(place.outline_mm) * (sign, 1)
            assert np.allclose(body, side_edge(layout.outline, pose.half), atol=1e-6)
            assert np.allclose(pose.to_body(place.joint_line_mm)[:, 0], 0, atol=1e-6)
        a, b = poses(opening, layout.outline)
        assert {a.half, b.half} == {"left", "right"}
        assert a.half == opening.a_is
        assert a.joint_side == opening.joint_edge
        assert a.neck_end == opening.neck_end


def test_printed_figures_set_out_what_was_found(laid: Laid) -> None:
    layout = laid[0]
    for opening in layout.openings:
        plan = set_out(layout, opening)
        for leaf, place in ((plan.a, opening.a), (plan.b, opening.b)):
            m = leaf.measures
            p, q = (m.datum.place(round(s.along_mm, 1), round(s.in_mm, 1)) for s in m.stations)
            ruled = LineString([p - (q - p), q + (q - p)])
            assert max(ruled.distance(Point(end)) for end in place.joint_line_mm) < 0.1


def test_line_to_saw_is_clear_of_outline_and_trim(laid: Laid) -> None:
    layout = laid[0]
    for opening in layout.openings:
        for leaf in (set_out(layout, opening).a, set_out(layout, opening).b):
            assert leaf.wedge is not None
            if leaf.wedge.good:
                line = LineString(leaf.wedge.points(492.0, 6.0))
                outline = Polygon(leaf.half.edge_mm).buffer(0)
                assert line.distance(outline) >= layout.settings.trim_mm - 1e-6
                assert leaf.half.sound().buffer(1e-6).contains(line)


def test_picture_and_sheet(laid: Laid, tmp_path: Path) -> None:
    layout, a, b = laid
    assert openings_picture(layout, a, b).shape[1] == 2 * 824 + 24
    marking_sheet(layout, 0, a, b, tmp_path / "m.pdf", label="cedar", made_on=date(2026, 11, 25))
    (page,) = PdfReader(tmp_path / "m.pdf").pages
    assert f"Joint on the {layout.openings[0].joint_edge} edge" in " ".join(page.extract_text().split())
