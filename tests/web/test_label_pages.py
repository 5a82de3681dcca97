"""Labels as a page and as a verb: the code of a printed label opens the pair's page at the shared address."""

import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from asking import Browser
from pypdf import PdfReader

from laid_pairs import laid_pair, layout_document
from seamlight.cli.main import main
from seamlight.shop.choices import keep_choice
from seamlight.shop.shop import Shop
from seamlight.shop.wood import new_pair

SHEET = {
    "page_wide": "210 mm",
    "page_high": "297",
    "left": "0",
    "top": "4,5",
    "wide": "70",
    "high": "36",
    "pitch_across": "70",
    "pitch_down": "36",
    "across": "3",
    "down": "8",
}


def wood(shop: Shop) -> None:
    with shop.change("owner") as change:
        pair = laid_pair(change, parlour=6.0)
        opening = layout_document("parlour", 6.0)["openings"][0]
        keep_choice(
            change,
            pair.id,
            outline={"name": "parlour"},
            opening={"joint_edge": "left", "neck_end": 1, "show_face": "sawn"},
            document=opening,
        )
        new_pair(change, kind="neck")


def words(data: bytes, folder: Path) -> str:
    (folder / "l.pdf").write_bytes(data)
    return "\n".join(page.extract_text() for page in PdfReader(folder / "l.pdf").pages)


def test_the_code_opens_the_page_at_the_shared_address(owner: Browser, shop: Shop, tmp_path: Path) -> None:
    wood(shop)
    answer = owner.get("/wood/labels.pdf", params={"pairs": "t1", "which": "pair", "first": "5"})
    assert answer.headers["content-type"] == "application/pdf"
    (tmp_path / "l.pdf").write_bytes(answer.content)
    subprocess.run(["pdftoppm", "-r", "300", "-gray", tmp_path / "l.pdf", tmp_path / "l"], check=True)
    page = cv2.imread(str(next(tmp_path.glob("*.pgm"))), cv2.IMREAD_GRAYSCALE)
    assert page is not None
    said, _, _ = cv2.QRCodeDetector().detectAndDecode(np.asarray(page))
    assert said == "http://192.168.7.2:8765/wood/pairs/1"
    assert owner.get("/wood/pairs/1").status_code in (200, 404)


def test_the_whole_rack_and_the_joint_edges_of_the_chosen_opening(
    owner: Browser, shop: Shop, tmp_path: Path
) -> None:
    wood(shop)
    text = words(owner.get("/wood/labels.pdf").content, tmp_path)
    assert [line for line in text.splitlines() if line in ("T1", "T1 A", "T1 B", "N1", "N1 A")] == [
        "N1",
        "T1",
        "T1 A",
        "T1 B",
    ]
    # the invented layout lays both leaves' joint at x = 0, left of their outline
    assert text.count("joint edge: left") == 2


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"pairs": "T9"}, "no pair is labelled"),
        ({"pairs": "T1", "first": "99"}, "there is no place 99"),
        ({"pairs": "T1", "first": "x"}, "is no place"),
        ({"pairs": "T1", "which": "all"}, "no kind of label"),
    ],
)
def test_what_cannot_be_printed_is_told(owner: Browser, shop: Shop, asked: dict[str, str], said: str) -> None:
    wood(shop)
    answer = owner.get("/wood/labels.pdf", params=asked)
    assert answer.status_code == 422
    assert said in answer.text


def test_an_empty_rack_has_nothing_to_label(owner: Browser) -> None:
    assert "nothing to label" in owner.get("/wood/labels.pdf").text


def test_the_measures_of_the_sheet_in_hand_are_kept(owner: Browser, shop: Shop, tmp_path: Path) -> None:
    wood(shop)
    own = {**SHEET, "wide": "2.5 in", "pitch_across": "68", "across": "2"}
    assert owner.press("/shop/labels", **own).status_code == 303
    page = owner.get("/shop/labels").text
    assert "63.5 mm" in page
    assert "16 a sheet" in page
    owner.press("/shop/labels/letter")
    (tmp_path / "l.pdf").write_bytes(owner.get("/wood/labels.pdf").content)
    assert float(PdfReader(tmp_path / "l.pdf").pages[0].mediabox.width) == pytest.approx(8.5 * 72)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"across": "4"}, "beyond the paper"),
        ({"wide": "wide"}, "is not a length"),
        ({"down": "0"}, "no number of labels"),
        ({"pitch_down": "20"}, "overlap"),
    ],
)
def test_measures_that_cannot_be_stay_typed(owner: Browser, change: dict[str, str], said: str) -> None:
    answer = owner.press("/shop/labels", **{**SHEET, **change})
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{next(iter(change.values()))}"' in answer.text


def test_the_verb_writes_the_same(shop: Shop, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wood(shop)
    out = tmp_path / "labels.pdf"
    where = ["--shop", str(shop.folder), "--out", str(out)]
    assert main(["sheet", "labels", "T1", "--which", "leaves", "--address", "http://shop:1", *where]) == 0
    assert "2 labels on 1 sheet" in capsys.readouterr().out
    assert "T1 B" in PdfReader(out).pages[0].extract_text()
    own = ["--page", "210x297", "--label", "60x30", "--margin", "10x0", "--pitch", "64x33", "--count", "3x9"]
    assert main(["sheet", "labels", *own, "--first", "26", *where]) == 0
    assert "4 labels on 2 sheets" in capsys.readouterr().out
    for wrong, said in (
        (["T9"], "no pair is labelled"),
        (["--count", "three"], "is no count"),
        (["--label", "60x30x5"], "not two measures"),
        (["--margin", "10"], "is not a length"),
        (["--count", "9x9"], "beyond the paper"),
    ):
        assert main(["sheet", "labels", *wrong, *where]) == 2
        assert said in capsys.readouterr().err
