"""From recordings of six taps, a size and a weight to constants within their spreads; deflection agrees.

The plate is rendered in air that the reader is not told, with damping by fingers, hum, noise and a room; its
deflection comes from scikit-fem's Bogner-Fox-Schmit squares.
"""

import argparse
import json
from dataclasses import replace
from pathlib import Path

import pytest
from test_plate_fem import fem_deflection

from seamlight.cli import deflect, tap
from seamlight.demo.sound_files import write_sound
from seamlight.demo.tap_cases import leaf_of, top_of
from seamlight.demo.taps import Phone, TapScene, render
from seamlight.plate.piece import Piece
from seamlight.plate.static import Rig
from seamlight.plate.stiffness import Elastic

KEYS = ("e_along", "e_across", "g")


def run(capsys: pytest.CaptureFixture[str], *options: str) -> dict:
    parser = argparse.ArgumentParser()
    verbs = parser.add_subparsers()
    tap.add_verb(verbs)
    deflect.add_verb(verbs)
    args = parser.parse_args([*options, "--json"])
    args.run(args)
    out, _ = capsys.readouterr()
    return json.loads(out)


def bench(piece: Piece) -> list[str]:
    size = f"{piece.length_mm:g}x{piece.width_mm:g}x{piece.thickness_mm:g}"
    return ["--size", size, "--weight", f"{piece.weight_g:g}"]


def truth(elastic: Elastic) -> dict[str, float]:
    return {"e_along": elastic.e_along_mpa, "e_across": elastic.e_across_mpa, "g": elastic.g_mpa}


def scene_of(board: tuple[Piece, Elastic], rate: int) -> TapScene:
    return TapScene(*board, air_kg_m3=1.15, phone=Phone(rate=rate, low_hz=40))


@pytest.mark.parametrize("seed", [301, 302, 303, 304])
@pytest.mark.parametrize("joined", [False, True])
def test_constants_within_their_spreads(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, seed: int, joined: bool
) -> None:
    """Six taps: three in a WAV, three in a phone's M4A of another rate."""
    board = (top_of if joined else leaf_of)(seed)
    files = []
    for k, (suffix, rate) in enumerate(((".wav", 44100), (".m4a", 48000))):
        scene = scene_of(board, rate)
        pulse = 0.010 if joined else scene.tapping.pulse_s
        scene = replace(scene, tapping=replace(scene.tapping, taps=3, pulse_s=pulse), detuning=0.0)
        made = render(scene, seed + 50 * k)
        files.append(str(write_sound(tmp_path / f"t{suffix}", made.samples, made.rate)))
    said = run(capsys, "tap", *files, *bench(board[0]))
    assert said["sure"] > 0.8
    for key, true in truth(board[1]).items():
        assert abs(said[f"{key}_mpa"] / true - 1) * 100 < 1.5 * said["spread_pct"][key], key
        assert said["spread_pct"][key] < 8
    assert len(said["targets"]) >= 3


def test_deflection_and_taps_agree(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    piece, elastic = leaf_of(311)
    made = render(replace(scene_of((piece, elastic), 48000), detuning=0.0), 311)
    file = write_sound(tmp_path / "six.m4a", made.samples, made.rate)
    said = run(capsys, "tap", str(file), *bench(piece), "--species", "Sitka spruce")
    kept = tmp_path / "taps.json"
    kept.write_text(json.dumps(said))
    rig = Rig(457, 22.2, 152)
    read_mm = round(fem_deflection(piece, elastic, rig), 2)
    bent = run(
        capsys, "deflect", *bench(piece), "--span", "457", "--load", "22.2", "--at", "152",
        "--read-at", "middle", "--deflection", f"{read_mm}", "--species", "Sitka spruce",
        "--beside", str(kept),
    )  # fmt: skip
    both = (said["spread_pct"]["e_along"] ** 2 + bent["spread_pct"]["e_along"] ** 2) ** 0.5
    assert abs(said["e_along_mpa"] / bent["e_along_mpa"] - 1) * 100 < both
    assert any(
        line.startswith("E along") and "agree:" in line and "disagree" not in line for line in bent["notes"]
    )


def test_wrong_size_typed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Before any recording is opened: the file need not even be there."""
    with pytest.raises(Exception, match="density comes out 1,9") as caught:
        run(capsys, "tap", str(tmp_path / "x.wav"), "--size", "550x200x3.6", "--weight", "754")
    assert "\n" not in str(caught.value)
