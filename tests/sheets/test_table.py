"""Plain text that fits a terminal, and the rack as CSV and contact sheet."""

import csv
import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from painted import painted_flats, painted_layout, painted_reading
from pypdf import PdfReader

from seamlight.layout.opening import Layout, Opening, Short
from seamlight.layout.pair import Registration
from seamlight.layout.photographs import PairReading
from seamlight.layout.rack import Rack, RackPair
from seamlight.sheets.contact import contact_sheet
from seamlight.sheets.table import layout_lines, rack_csv, rack_lines, reading_lines, why_failed
from seamlight.sheets.words import heading, reasons_beyond, shortages, verdict, verdict_sentence


def painted_rack(pairs: int = 4) -> Rack:
    reading = painted_reading()
    layout, wide = painted_layout(), painted_layout(lower=208.0)
    wide = replace(wide, outline=replace(wide.outline, name="jumbo"))
    partner = replace(reading, flat=painted_flats()[1])
    pair = PairReading(reading, partner, registration=layout.registration)
    named = [
        RackPair(Path(f"cedar-{i:02d}a.jpg"), Path(f"cedar-{i:02d}b.jpg"), pair, (layout, wide))
        for i in range(pairs)
    ]
    long = RackPair(Path(f"{'x' * 40}1.jpg"), Path(f"{'y' * 40}.jpg"), pair, (wide, layout))
    failed = ((Path("broken.jpg"), "broken.jpg: cut off; copy it again"),)
    return Rack((*named, long), (Path("odd.jpg"),), failed)


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_lines_fit_a_terminal(layout: Layout, units: str) -> None:
    over = [replace(o, show_face="other") for o in layout.openings]
    far = [
        replace(o, spare_mm=-43.27, a=replace(o.a, planing_end1_mm=42.1, planing_end2_mm=30.97)) for o in over
    ]
    every = replace(layout, openings=(*layout.openings, *far))
    for lines in (
        layout_lines(every, units=units),
        reading_lines(painted_reading(), units=units),
        rack_lines(painted_rack(), units=units),
    ):
        assert max(map(len, lines)) <= 100


def test_each_opening_has_its_row_and_its_sentence(layout: Layout) -> None:
    text = "\n".join(layout_lines(layout))
    for n, opening in enumerate(layout.openings, 1):
        assert f"{heading(opening, n)}: {verdict_sentence(opening, 'mm')}" in text
        for name, points, words in opening.parts:
            assert f"{name} {points:.3g} ({words})" in " ".join(text.split())
    assert text.index("short by") > text.index("fits")


def test_verdicts(layout: Layout) -> None:
    fits = layout.openings[0]

    def sentence(**changes: object) -> tuple[str, str]:
        opening: Opening = replace(fits, **changes)  # type: ignore[arg-type]
        return verdict(opening), verdict_sentence(opening, "mm")

    assert sentence(spare_mm=8.6, end_spare_mm=20.0) == (
        "fits",
        "fits, 8.6 mm to spare beside, 20.0 at the ends",
    )
    assert sentence(spare_mm=33.3, end_spare_mm=2.3)[1] == "fits, 2.3 mm to spare at the ends, 33.3 beside"
    inch = verdict_sentence(replace(fits, spare_mm=25.4, end_spare_mm=12.7), "inch")
    assert inch == "fits, 1/2 in (12.7 mm) to spare at the ends, 1 in (25.4 mm) beside"
    assert sentence(fits=False, spare_mm=-4.5) == ("short", "short by 4.5 mm")
    assert sentence(fits=False, spare_mm=3.0, end_spare_mm=-20.0) == ("short", "short by 20.0 mm at the ends")
    kind, said = sentence(fits=False, marginal=True, spare_mm=-0.3)
    assert (kind, said) == ("marginal", "marginal: short by 0.3 mm, within the scale's error")
    assert sentence(marginal=True, spare_mm=0.2, end_spare_mm=5.0)[1] == (
        "marginal: 0.2 mm to spare beside, within the scale's error"
    )


def test_a_rack_says_the_least_room_and_where_it_is() -> None:
    rack = painted_rack()
    best = rack.pairs[0].layouts[0].openings[0]
    assert best.end_spare_mm > best.spare_mm
    assert f"{best.spare_mm:.1f} beside" in "\n".join(rack_lines(rack))
    tight = replace(best, end_spare_mm=2.3, spare_mm=33.3)
    layouts = tuple(replace(lay, openings=(tight,)) for lay in rack.pairs[0].layouts)
    lines = rack_lines(replace(rack, pairs=(replace(rack.pairs[0], layouts=layouts),)))
    assert any("2.3 at ends" in line and "33.3" not in line for line in lines)


def test_the_head_says_what_stands_for_leaf_b(layout: Layout) -> None:
    def head(layout: Layout) -> str:
        return " ".join("\n".join(layout_lines(layout)).split())

    assert "; match 0.86: a pair. " in head(layout)
    alone = head(replace(layout, registration=Registration(1.0), stands_in=True))
    assert "; leaf B not given: A mirrored. " in alone
    assert "a pair" not in alone
    twice = head(replace(layout, registration=Registration(0.98, b_shows="other", same_leaf=True)))
    assert "; match 0.98: both pictures show one face of one leaf, no pair. " in twice


def test_what_holds_for_both_leaves_is_said_once(layout: Layout) -> None:
    said = (
        "fits: 9 mm",
        "knot 1 of leaf A lies in the open",
        "straight",
        "knot 1 of leaf B lies in the open",
    )
    opening = replace(layout.openings[0], reasons=said)
    assert reasons_beyond(opening) == ["knot 1 of both leaves lies in the open", "straight"]
    shorts = (Short("a", 6.0, 347.0, 422.5), Short("b", 6.0, 347.0, 422.5), Short("b", 4.0, 508.0, 514.0))
    assert shortages(replace(opening, short=shorts), 508.0, "mm") == [
        "both leaves are short by 6.0 mm from 347 mm to 422 mm from the neck end",
        "leaf B is short by 4.0 mm beyond the tail end",
    ]


def test_rack_table_names_everything() -> None:
    text = "\n".join(rack_lines(painted_rack()))
    assert "cedar-00 " in text
    assert "odd.jpg" in text
    assert "broken.jpg: cut off; copy it again" in text
    assert why_failed(Path("in/x.jpg"), "in/x.jpg: black") == "x.jpg: black"


def test_csv_reads_back() -> None:
    rack = painted_rack()
    rows = list(csv.DictReader(io.StringIO(rack_csv(rack))))
    assert [r["found"] for r in rows] == ["pair"] * 10 + ["alone", "failed"]
    best = rack.pairs[0].layouts[0].openings[0]
    assert float(rows[0]["spare_mm"]) == pytest.approx(best.spare_mm, abs=0.005)
    assert rows[0]["outline"] == "dreadnought"
    assert rows[1]["verdict"] == "short"


@pytest.mark.parametrize("pairs", [0, 4])
def test_contact_sheet_names_every_pair_and_file(tmp_path: Path, pairs: int) -> None:
    rack = painted_rack(pairs)
    contact_sheet(rack, tmp_path / "c.pdf", paper="letter", made_on=date(2026, 11, 25))
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(tmp_path / "c.pdf").pages).split())
    for i in range(pairs):
        assert f"cedar-{i:02d} " in text
    assert text.count("short by") >= pairs
    for name in ("odd.jpg", "broken.jpg", "match 0.86", "2026-11-25"):
        assert name in text


def test_slip_matched_each_leaf_s_face_is_said(layout: Layout) -> None:
    slipped = replace(layout, settings=replace(layout.settings, match="slip"))
    turned = replace(slipped, openings=(*(replace(o, show_face="other") for o in slipped.openings),))
    assert "A's sawn and B's other face showing" in " ".join("\n".join(layout_lines(slipped)).split())
    assert "A's other and B's sawn face showing" in " ".join("\n".join(layout_lines(turned)).split())
    assert max(map(len, layout_lines(turned, units="inch"))) <= 100


def test_only_the_best_are_told_in_full(layout: Layout) -> None:
    short, full = layout_lines(layout, detailed=2), layout_lines(layout)
    assert sum(line.startswith("   = score") for line in short) == 2
    assert sum(line.startswith("   = score") for line in full) == len(layout.openings)
    for n, opening in enumerate(layout.openings, 1):
        assert f"{heading(opening, n)}: {verdict_sentence(opening, 'mm')}" in short
    eight = replace(layout, openings=layout.openings * 2)
    assert len(layout_lines(eight, detailed=2)) < 50
