"""Page, command and call say the same of the same pictures, whatever they are told of them."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from asking import Browser
from PIL import Image

from seamlight.cli.main import main
from seamlight.demo.seam_light import CandledJoint, Candling, LightShot, photograph_joint
from seamlight.photo import ScaleSpec, target_sheet
from seamlight.photo.target import sheet_picture
from seamlight.seam import Bench, judge_light, read_light_files
from seamlight.seam.document import SeamDocument
from seamlight.shop.seam_bench import joint_readings
from seamlight.shop.shop import Shop
from seamlight.shop.wood import new_pair

LENGTH = 320.0
S = np.linspace(0.0, 1.0, 1101)
GAP = 0.05 + 0.1 * S + 0.12 * np.exp(-0.5 * ((S - 0.3) / 0.03) ** 2)
VIEW = Candling(px_per_mm=3.0, across_mm=490.0, slant_deg=0.8)


@pytest.fixture(scope="module")
def shot() -> LightShot:
    """A bump on shims, a target sheet pasted on the lower leaf's face at true scale."""
    one = photograph_joint(CandledJoint(GAP, LENGTH, leaf_mm=260.0), VIEW, 51)
    page = cv2.resize(sheet_picture(target_sheet(), 10.0), None, fx=0.3, fy=0.3, interpolation=cv2.INTER_AREA)
    page = np.rot90(page) if page.shape[0] > page.shape[1] else page
    top, left = round(one.ends_px[0][1] + 90), round(one.ends_px[0][0] + 20)
    paper = np.clip(page * 0.5 + 12, 0, 255).astype(np.uint8)
    one.rgb[top : top + page.shape[0], left : left + page.shape[1]] = paper[..., None]
    return one


def texts(shot: LightShot, pictures: int) -> tuple[str, str]:
    (x0, y0), (x1, y1) = shot.ends_px
    ends = [f"{x0:.0f},{y0:.0f} {x1:.0f},{y1:.0f}"] * pictures
    middle = [f"{(x0 + x1) / 2:.0f},{(y0 + y1) / 2:.0f}"] * pictures
    return " ".join(ends), " ".join(middle)


def said(document: SeamDocument) -> dict[str, Any]:
    kept: dict[str, Any] = json.loads(document.to_json())
    return {name: value for name, value in kept.items() if name not in ("advice", "progress")}


@pytest.mark.parametrize("how", ["tags", "tags measured", "ends and middle", "two pictures, one marked"])
def test_page_command_and_call_agree(
    owner: Browser, shop: Shop, tmp_path: Path, capsys: pytest.CaptureFixture[str], shot: LightShot, how: str
) -> None:
    held = io.BytesIO()
    Image.fromarray(shot.rgb).save(held, "PNG", compress_level=1)
    paths = [tmp_path / f"{name}.png" for name in (("a", "b") if how.startswith("two") else ("a",))]
    for path in paths:
        path.write_bytes(held.getvalue())
    ends, middle = texts(shot, len(paths))
    typed = {"length": f"{LENGTH:g}", "shims": "0.05 0.15"}
    ((x0, y0), (x1, y1)), call = shot.ends_px, {}
    marked = ((round(x0), round(y0)), (round(x1), round(y1)))
    if how.startswith("tags"):
        typed["length"] = "tags=145.5" if "measured" in how else "tags"
        call = {"tags": ScaleSpec(bar_mm=145.5, bar_said=True) if "measured" in how else ScaleSpec()}
    elif how.startswith("two"):
        typed["ends"] = "- " + ends.split(" ", 2)[0] + " " + ends.split(" ")[1]
        call = {"ends_px": [None, marked]}
    else:
        typed |= {"ends": ends, "middle": middle}
        call = {"ends_px": [marked], "middle_px": [tuple(float(part) for part in middle.split(","))]}

    reading = read_light_files(
        paths,
        None if "tags" in call else LENGTH,
        shims_mm=(0.05, 0.15),
        **call,  # type: ignore[arg-type]
    )
    bench = Bench(species_name="western redcedar")
    by_call = SeamDocument.of_meaning(judge_light(reading, bench), bench)

    options = [f"--length={typed['length']}", "--shim=0.05,0.15", "--species=western redcedar", "--json"]
    options += [f"--{name}={typed[name]}" for name in ("ends", "middle") if name in typed]
    assert main(["seam", *map(str, paths), *options]) == 0
    by_command = SeamDocument.model_validate(json.loads(capsys.readouterr().out))

    with shop.change("owner") as change:
        number = new_pair(change, kind="top", species_common="western redcedar", thickness_mm=4.0).id
    files = [("photos", (path.name, path.read_bytes(), "image/png")) for path in paths]
    answer = owner.press(f"/wood/pairs/{number}/seam", files=files, **typed)
    assert answer.status_code == 303, answer.text
    with shop.read() as session:
        (kept,) = joint_readings(session, number)

    assert said(by_command) == said(by_call)
    assert said(kept.document) == said(by_call)
    if how == "tags":
        assert by_call.length_mm == pytest.approx(LENGTH, rel=0.01)
