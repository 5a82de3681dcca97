"""`seamlight deflect` by its own parser: the contract's example, targets, one-line mistakes."""

import argparse
import json
from pathlib import Path

import pytest

from seamlight.cli import deflect
from seamlight.mistake import Mistake

BENCH = [
    *["--size", "550x200x3.2", "--span", "457", "--load", "22.2"],
    *["--at", "152", "--read-at", "middle", "--deflection", "5.6"],
]


def run(*options: str) -> None:
    parser = argparse.ArgumentParser()
    deflect.add_verb(parser.add_subparsers())
    args = parser.parse_args(["deflect", *options])
    args.run(args)


def document(capsys: pytest.CaptureFixture[str], *options: str) -> dict:
    run(*options, "--json")
    out, _ = capsys.readouterr()
    assert out.count("\n") == 1
    return json.loads(out)


def test_the_example_of_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    said = document(capsys, *BENCH)
    assert said["schema"] == "seamlight/tap/1"
    # F b (3 L^2 - 4 b^2) / 48 I delta on the full width (computed), and 0.1 % of shear
    beam = 22.2 * 152 * (3 * 457**2 - 4 * 152**2) / (48 * 200 * 3.2**3 / 12 * 5.6)
    assert said["e_along_mpa"] == pytest.approx(beam, rel=2e-3)
    assert said["peaks"] == []
    assert said["density_kg_m3"] is None
    assert any("not weighed" in line for line in said["warnings"])


def test_targets_with_a_plate_you_liked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    liked = tmp_path / "liked.json"
    liked.write_text(json.dumps(document(capsys, *BENCH, "--weight", "150")))
    said = document(capsys, *BENCH, "--weight", "150", "--like", str(liked), "--like-thickness", "2.8")
    rules = {target["rule"]: target for target in said["targets"]}
    assert rules["stiffness along"]["thickness_mm"] == pytest.approx(2.8)
    assert rules["mass"]["thickness_mm"] == pytest.approx(2.8)
    assert rules["mass"]["weight_g"] == pytest.approx(150 * 2.8 / 3.2, rel=1e-4)
    one = document(
        capsys, *BENCH, "--weight", "150", "--target", "deflection", "--want-deflection", "457x152x22.2=7.1"
    )
    # 3.2 (5.6 / 7.1)^(1/3)
    assert one["targets"][0]["thickness_mm"] == pytest.approx(2.956, abs=0.003)


def test_beside_another_way(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    other.write_text(json.dumps(document(capsys, *BENCH)))
    said = document(capsys, *BENCH[:-1], "5.62", "--beside", str(other))
    assert any("agree: -0.4 %" in line for line in said["notes"])
    said = document(capsys, *BENCH[:-1], "8", "--beside", str(other))
    assert any("disagree: -30.0 %" in line for line in said["notes"])
    assert any("cannot be the cause" in line for line in said["notes"])


def test_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    run(
        *BENCH,
        "--weight",
        "150",
        "--temp",
        "70F",
        "--rh",
        "45",
        "--species",
        "Sitka spruce",
        "--units",
        "inch",
    )
    out, err = capsys.readouterr()
    assert "E along: 12.29 GPa ±" in out
    assert "stiffness along" in out
    assert "hands clear" in out
    assert "note:" in err


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--size", "550x200x32"], "perhaps 3.2 mm"),
        (["--span", "700"], "longer than the piece"),
        (["--at", "300"], "nearer support"),
        (["--deflection", "0.56"], "which no wood has"),
        (["--weight", "1500"], "heavier than any wood"),
        (["--target", "mass"], "give the weight"),
        (["--weight", "150", "--target", "louder"], "choose one of"),
        (["--temp", "20"], "give both"),
        (["--weight", "150", "--like", "nowhere.json"], "no such file"),
        (["--weight", "150", "--want-deflection", "7.1"], "is no rig"),
        (["--species", "plywood"], "no species"),
        (["--beside", __file__], "no document of tap"),
    ],
)
def test_mistakes_are_one_line(options: list[str], says: str) -> None:
    with pytest.raises(Mistake) as caught:
        run(*BENCH, *options)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
