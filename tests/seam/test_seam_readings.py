"""Straightedge and feeler readings as a person types them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from seamlight.mistake import Mistake
from seamlight.seam.readings import Readings, load_readings, parse_readings, slips

PLAIN = "0, 0\n275, 0.1\n550, 0\n"


@pytest.mark.parametrize(
    "text",
    [
        PLAIN,
        "s_mm,gap_mm\n0,0\n275,0.1\n550,0\n",
        "0;0\n275;0,1\n550;0\n",
        "0\t0\n275\t0,1\n550\t0\n",
        "0 0\n275 0.1\n550 0\n",
        "0 0\n275 0,1\n550,0 0\n",
        "# the joint on Monday\n\n0,0\n275,0.10\n550,0\n",
        "s_in, gap_in\n0, 0\n10.8268, 0.003937\n21.6535, 0\n",
        "0, 0\n10.8268in, 3.937 thou\n21.6535in, 0\n",
        "s (mm), gap (mm)\n0, 0\n275, 0.1\n550, 0\n",
        "s_in, gap_thou\n0, 0\n10.8268, 3.937\n21.6535, 0\n",
        "s_cm; gap_mm\n0; 0\n27,5; 0,1\n55; 0\n",
        "from the neck end, gap\n0, 0\n275, 0.1\n550, 0\n",
    ],
)
def test_many_ways_to_write_the_same(text: str) -> None:
    readings = parse_readings(text)
    assert readings.s_mm == pytest.approx([0, 275, 550], abs=0.01)
    assert readings.front_mm == pytest.approx([0, 0.1, 0], abs=1e-5)
    assert readings.back_mm is None


def test_both_faces() -> None:
    readings = parse_readings("s_mm,front_mm,back_mm\n0,0,0.02\n275,0.1,0.04\n550,0,0\n")
    assert readings.back_mm is not None
    assert readings.middle_mm == pytest.approx([0.01, 0.07, 0])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no readings"),
        ("\n# nothing\n", "no readings"),
        ("s_mm,gap_mm\n", "fewer than three"),
        ("0,0\n550,0\n", "fewer than three"),
        ("0,0\n300,0.1\n275,0.1\n550,0\n", "line 3 goes backwards"),
        ("550,0\n275,0.1\n0,0\n", "line 2 goes backwards"),
        ("0,0\n275,0.1\n275,0.1\n550,0\n", "goes backwards"),
        ("0,0\n275,-0.1\n550,0\n", "below 0"),
        ("0,0\n275,ten\n550,0\n", "'ten' is no length"),
        ("0,0\n275,0.1,0.2\n550,0\n", "line 2 has 3 columns"),
        ("0,0\n275,0,1\n550,0\n", "decimal"),
        ("0,0,0\n275,0,10\n550,0,05\n", "decimal comma"),
        ("0,0,0,0\n275,0,0,10\n550,0,0,0\n", "decimal"),
        ("0,0\n10.8,0.004\n21.65,0\n", "inches"),
        ("0,0\n275,10\n550,0\n", "gap of 10 mm"),
        ("s,back_mm,front_mm\n0,0,0\n275,0,0\n550,0,0\n", "back face comes first"),
        ("0,0\n275,nan\n550,0\n", "no length"),
        ("s_mm,gap_um\n0,0\n275,100\n550,0\n", "unit that is not known"),
        ("s_mm,gap (64ths)\n0,0\n275,1\n550,0\n", "unit that is not known"),
    ],
)
def test_what_is_wrong_is_one_line(text: str, says: str) -> None:
    with pytest.raises(Mistake, match=says) as caught:
        parse_readings(text, where="joint.csv")
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("joint.csv")


def test_files(tmp_path: Path) -> None:
    good = tmp_path / "joint.csv"
    good.write_bytes(b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode())
    assert np.array_equal(load_readings(good).s_mm, [0, 275, 550])
    with pytest.raises(Mistake, match="no such file"):
        load_readings(tmp_path / "none.csv")
    picture = tmp_path / "joint.jpg"
    picture.write_bytes(b"\xff\xd8\xff\xe0" * 20)
    with pytest.raises(Mistake, match="no text file"):
        load_readings(picture)
    with pytest.raises(Mistake, match="no text file"):
        load_readings(tmp_path)


def test_a_slip_of_the_decimal_point_is_asked_about() -> None:
    slipped = parse_readings("0,0\n100,0.05\n275,0.5\n400,0.05\n550,0\n")
    (said,) = slips(slipped)
    assert said.startswith("0.50 mm at 275 mm is 10 times")
    assert said.endswith("or was it 0.05 mm?")
    assert "or was it 2 thou?" in slips(slipped, "inch")[0]
    both = parse_readings("0,0,0\n100,0.05,0.05\n275,0.05,0.5\n400,0.05,0.05\n550,0,0\n")
    assert len(slips(both)) == 1


@pytest.mark.parametrize("gaps", [(0, 0.1, 0.4, 0.1, 0), (0.4, 0.1, 0, 0.1, 0.4), (0, 0.01, 0.06, 0.01, 0)])
def test_what_a_plane_leaves_is_no_slip(gaps: tuple[float, ...]) -> None:
    places = np.array([0.0, 100.0, 275.0, 400.0, 550.0])
    assert slips(Readings(places, np.array(gaps), None)) == ()
