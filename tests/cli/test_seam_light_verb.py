"""`seam` as a person runs it, on an invented joint whose gap is known."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from seamlight.cli import seam
from seamlight.cli.options import Verbs
from seamlight.demo.seam_light import CandledJoint, Candling, photograph_joint
from seamlight.mistake import Mistake
from seamlight.seam.profile import Profile, fit_gap

LENGTH = 550.0
S = np.linspace(0, LENGTH, 1101)
HOLLOW = 0.1 * (1 - (2 * S / LENGTH - 1) ** 2)


def run(*given: object) -> None:
    parser = argparse.ArgumentParser()
    verbs: Verbs = parser.add_subparsers()
    seam.add_verb(verbs)
    args = parser.parse_args(["seam", *map(str, given)])
    args.run(args)


@pytest.fixture(scope="module")
def shimmed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hollow of 0.1 mm on shims of 0.05 and 0.15 mm."""
    path = tmp_path_factory.mktemp("seam") / "joint.png"
    joint = CandledJoint(HOLLOW + 0.05 + 0.1 * S / LENGTH)
    Image.fromarray(photograph_joint(joint, Candling(), 3).rgb).save(path)
    return path


def test_a_picture_becomes_a_verdict(
    shimmed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    straight = tmp_path / "straight.png"
    run(shimmed, "--length", "550", "--shim", "0.05,0.15", "--room", "1", "--picture", straight, "--json")
    document = json.loads(capsys.readouterr().out)
    assert document["schema"] == "seamlight/seam/1"
    assert document["measured"] == "width"
    assert document["shape"] == "hollow"
    assert document["verdict"] == "glue"
    s, fit = np.array(document["s_mm"]), np.array(document["fit_gap_mm"])
    truth = fit_gap(Profile(s, np.interp(s, S, HOLLOW), 0.0)).gap_mm
    assert fit == pytest.approx(truth, abs=0.01)
    assert document["pull_together"]["pressure_mpa"] == pytest.approx(0.1, abs=0.03)
    assert straight.read_bytes().startswith(b"\x89PNG")


def test_without_shims_it_is_relative(shimmed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(shimmed, "--length", "550", "--json")
    document = json.loads(capsys.readouterr().out)
    assert document["measured"] == "relative"
    assert document["gap_mm"] is None
    assert document["pull_together"] is None


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (["--shim", "0.05"], "not two shims"),
        (["--shim", "thin,thick"], "not a length"),
        (["--length", "5"], "how long"),
        (["--length", "tags"], "no target sheet"),
        (["--length", "tags=20"], "too far from"),
        (["--length", "550", "--middle", "here"], "not one place"),
        (["--length", "550", "--ends", "1,2,3,4", "--ends", "5,6,7,8"], "more pictures"),
        ([], "how long"),
    ],
)
def test_mistakes(given: list[str], says: str, shimmed: Path) -> None:
    with pytest.raises(Mistake, match=says):
        run(shimmed, *given)


def test_shims_as_people_type_them() -> None:
    for text in ("0.05,0.15", "0,05;0,15", "0.05 mm, 0.15 mm"):
        assert seam.shims_of(text) == pytest.approx((0.05, 0.15))
    assert seam.shims_of("2 thou, 6 thou") == pytest.approx((0.0508, 0.1524))


def test_faces_join_the_judgement(shimmed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    faces = tmp_path / "faces.csv"
    faces.write_text("s_mm, front_mm, back_mm\n0, 0.1, 0\n180, 0.18, 0.08\n370, 0.18, 0.08\n550, 0.1, 0\n")
    run(shimmed, "--length", "550", "--shim", "0.05,0.15", "--faces", faces, "--json")
    document = json.loads(capsys.readouterr().out)
    assert document["measured"] == "width"
    assert document["square"]["out_of_square_mm"] == pytest.approx(0.1, abs=0.001)
    assert document["square"]["wind_mm"] == pytest.approx(0.0, abs=0.001)
    assert abs(document["square"]["feelers_off_mm"]) < 0.02
    assert document["verdict"] == "a few strokes"
    faces.write_text("0, 0\n200, 0\n550, 0\n")
    with pytest.raises(Mistake, match="one face was read"):
        run(shimmed, "--length", "550", "--shim", "0.05,0.15", "--faces", faces)
