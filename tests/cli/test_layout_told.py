"""What `layout` and `rack` tell a person, by running them: units, faces, how much, an opened pair."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from sqlalchemy import select

from seamlight.cli.main import main
from seamlight.demo import phone, saw, wood
from seamlight.shop import open_shop
from seamlight.shop.photos import photos
from seamlight.shop.tables import Pair

BESIDE_INCHES = re.compile(r"\(\d+(\.\d+)? mm\)")  # the mm that stand beside inches


def told(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[str, str]:
    code = main([str(word) for word in words])
    printed = capsys.readouterr()
    assert code == 0, printed.err
    return printed.out, printed.err


@pytest.fixture(scope="module")
def pair(photographs: dict[str, Path]) -> tuple[object, ...]:
    return (photographs["a"], photographs["b"], "--thickness", "4.5")


def test_words_follow_the_unit(pair, capsys) -> None:
    out, err = told(capsys, "layout", *pair, "--outline", "jumbo", "--units", "inch", "--details")
    assert "plane off" in out
    assert " in to spare" in out
    assert " mm" not in BESIDE_INCHES.sub("", out)
    assert " mm" not in BESIDE_INCHES.sub("", err).replace("150 mm bar", "")


def test_the_best_two_in_detail_and_all_where_asked(pair, capsys) -> None:
    best, _ = told(capsys, "layout", *pair, "--outline", "parlour")
    every, _ = told(capsys, "layout", *pair, "--outline", "parlour", "--details")
    for text, full in ((best, 2), (every, 4)):
        assert text.count("   = score") == full
        for number in range(1, 5):
            assert f"\n{number}: joint on the" in text
    assert "--details" in best
    assert "--details" not in every


def test_a_slip_match_says_which_face_shows(pair, capsys) -> None:
    slip, _ = told(capsys, "layout", *pair, "--outline", "parlour", "--match", "slip")
    assert "shows the face that A hides" in " ".join(slip.split())
    assert slip.count("A's sawn and B's other face showing") == 4
    book, _ = told(capsys, "layout", *pair, "--outline", "parlour")
    assert "other face" not in book


def test_an_opened_pair_in_a_rack_is_a_pair(photographs, tmp_path, capsys) -> None:
    folder = tmp_path / "stack"
    folder.mkdir()
    grown = saw.saw_pair(wood.grow_log(612, species="western redcedar"), 612, length_mm=520, width_mm=190)
    a, b = (saw.face(leaf, "sawn", 4.0) for leaf in (grown.a, grown.b))
    phone.photograph_pair(a, b, 612).save(folder / "opened.jpg")
    (folder / "leaf.jpg").write_bytes(photographs["a"].read_bytes())
    open_shop(tmp_path / "shop", create=True).close()
    out, _ = told(
        capsys, "rack", folder, "--outline", "parlour", "--thickness", "4.5", "--no-flaws", "--workers", "1",
        "--out", tmp_path / "out", "--shop", tmp_path / "shop", "--json",
    )  # fmt: skip
    document = json.loads(out)
    (found,) = document["pairs"]
    assert (found["a"], found["b"]) == ("opened.jpg", "opened.jpg")
    assert found["match"] > 0.7
    assert found["best"]["parlour"]["fits"]
    assert document["alone"] == ["leaf.jpg"]
    assert document["failed"] == []
    assert (tmp_path / "out" / "contact-sheet.pdf").read_bytes().startswith(b"%PDF")
    shop = open_shop(tmp_path / "shop")
    with shop.read() as session:
        (filed,) = session.scalars(select(Pair)).all()
        assert [photo.role for photo in photos(session, filed.id)] == ["opened"]
    shop.close()


@pytest.mark.parametrize(
    "words",
    [
        ("layout", "missing.jpg", "--outline", "parlour", "--picture", "{nowhere}/openings.png"),
        ("layout", "missing.jpg", "--outline", "parlour", "--sheet", "{nowhere}/marking.pdf"),
        ("layout", "missing.jpg", "--outline", "parlour", "--picture", "{there}/openings.pdf"),
        ("sheet", "marking", "missing.jpg", "--outline", "parlour", "--out", "{nowhere}/marking.pdf"),
        ("read", "missing.jpg", "--picture", "{nowhere}/reading.png"),
        ("read", "missing.jpg", "--field", "{nowhere}/field.npz"),
        ("rack", "{there}", "--outline", "parlour", "--out", "{taken}"),
    ],
)
def test_what_can_not_be_written_is_said_before_anything_is_read(words, tmp_path, capsys) -> None:
    (tmp_path / "leaf.jpg").write_bytes(b"no picture")
    (tmp_path / "out" / "rack.csv").mkdir(parents=True)
    named = {"nowhere": tmp_path / "nowhere", "there": tmp_path, "taken": tmp_path / "out"}
    before = sorted(tmp_path.rglob("*"))
    code = main([word.format(**named) for word in words])
    printed = capsys.readouterr()
    assert code == 2
    assert len(printed.err.strip().splitlines()) == 1
    assert "missing.jpg" not in printed.err
    assert str(tmp_path) in printed.err
    assert sorted(tmp_path.rglob("*")) == before
