"""Plain text for the terminal, at most 100 columns wide; and the rack as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap

from seamlight.grain.endgrain import QUARTERED_FROM_DEG
from seamlight.grain.reading import Reading
from seamlight.layout.opening import Layout, Opening
from seamlight.layout.rack import Rack, RackPair
from seamlight.sheets.reading_words import figures
from seamlight.sheets.words import (
    SLIPPED,
    a_and_b,
    bare,
    heading,
    least_spare,
    purpose,
    reasons_beyond,
    score_words,
    shortages,
    verdict,
    verdict_sentence,
)
from seamlight.units import Unit, said_in

COLUMNS = 100
DETAILED = 2  # openings told of in full in a terminal, unless all are asked for


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], right: frozenset[int] = frozenset()
) -> list[str]:
    """Columns as wide as their widest cell, two blanks apart; the columns of `right` end together.

    >>> table(["n", "spare"], [["1", "8.6"], ["2", "-4.5"]], frozenset({1}))
    ['n  spare', '1    8.6', '2   -4.5']
    """
    cells = [list(head), *map(list, rows)]
    wide = [max(len(row[i]) for row in cells) for i in range(len(head))]
    lines = (
        "  ".join(
            c.rjust(w) if i in right else c.ljust(w) for i, (c, w) in enumerate(zip(row, wide, strict=True))
        )
        for row in cells
    )
    return [line.rstrip() for line in lines]


def folded(text: str, first: str = "", then: str = "") -> list[str]:
    """Text in lines of at most 100 columns."""
    return wrap(text, COLUMNS, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)


def layout_lines(layout: Layout, *, units: Unit = "mm", detailed: int | None = None) -> list[str]:
    """All openings of a pair: a table, then what speaks for and against each.

    Args:
        detailed: of how many of the best openings all is told, the others a line each; None: of every one.
    """
    match = layout.settings.match
    unit = "inches" if units == "inch" else "mm"
    lines = folded(
        f"{purpose(layout)}; {a_and_b(layout)}. Edges and ends are leaf A's; lengths in {unit}; "
        "beside, at ends: the room to spare beside the outline and at its ends."
    )
    head = [
        "",
        "joint",
        "neck",
        "verdict",
        "beside",
        "at ends",
        "plane A 1..2",
        "plane B 1..2",
        "grain",
        "lpi",
        "score",
    ]
    rows = [_opening_row(n, o, units) for n, o in enumerate(layout.openings, 1)]
    lines += ["", *table(head, rows, frozenset({4, 5, 8, 10})), ""]
    if any(o.show_face == "other" for o in layout.openings):
        lines += ["* A's other face showing" if match == "slip" else "* the other faces showing", ""]
    if match == "slip":
        lines += [*folded(SLIPPED), ""]
    for n, opening in enumerate(layout.openings, 1):
        lines += folded(f"{heading(opening, n, match)}: {verdict_sentence(opening, units)}", "", "   ")
        if detailed is None or n <= detailed:
            lines += _in_detail(opening, layout, units)
    if detailed is not None and len(layout.openings) > detailed:
        lines += ["", "with --details: the reasons, scores and remedies of every opening"]
    return lines


def _in_detail(opening: Opening, layout: Layout, units: Unit) -> list[str]:
    """What speaks for and against an opening, its score's parts, what can be done."""
    lines = []
    for reason in (*reasons_beyond(opening, units), *shortages(opening, layout.outline.length_mm, units)):
        lines += folded(reason, "   - ", "     ")
    lines += folded(score_words(opening, units), "   = ", "     ")
    for remedy in opening.remedies:
        lines += folded(f"{remedy.kind}: {said_in(remedy.text, units)}", "   > ", "     ")
    return lines


def _opening_row(n: int, opening: Opening, units: Unit) -> list[str]:
    grain = opening.grain
    lpi = [grain.lpi_joint, grain.lpi_middle, grain.lpi_edge]
    return [
        str(n),
        opening.joint_edge + (" *" if opening.show_face == "other" else ""),
        f"at {opening.neck_end}",
        verdict(opening),
        bare(opening.spare_mm, units),
        bare(opening.end_spare_mm, units),
        f"{bare(opening.a.planing_end1_mm, units)}..{bare(opening.a.planing_end2_mm, units)}",
        f"{bare(opening.b.planing_end1_mm, units)}..{bare(opening.b.planing_end2_mm, units)}",
        "-" if grain.tilt_deg is None else f"{round(grain.tilt_deg, 1) + 0.0:.1f}°",
        "/".join("-" if v is None else f"{v:.0f}" for v in lpi),
        f"{opening.score:.0f}",
    ]


def reading_lines(
    reading: Reading, *, units: Unit = "mm", quarter_from_deg: float = QUARTERED_FROM_DEG
) -> list[str]:
    """What one leaf says."""
    lines: list[str] = []
    for head, said in figures(reading, units, quarter_from_deg):
        label = f"{head}: "
        for i, text in enumerate(said):
            alone = i == 0 and len(said) == 1
            if i == 0 and not alone:
                lines.append(label.rstrip())
            lines += folded(text, label if alone else "  ", "  " if alone else "    ")
    return lines


def rack_lines(rack: Rack, *, units: Unit = "mm") -> list[str]:
    """Every pair of a rack with its best opening for each outline, then leaves alone and failed files."""
    unit = "in" if units == "inch" else "mm"
    rows = [row for pair in rack.pairs for row in _pair_rows(pair, units)]
    head = ["pair", "match", "outline", "verdict", "spare", "best opening", "score"]
    counts = f"{len(rack.pairs)} pairs, {len(rack.alone)} without a partner, {len(rack.failed)} failed"
    lines = [f"{counts}; spare in {unit}, where it is least"]
    if rows:
        lines += ["", *table(head, rows, frozenset({1, 4, 6}))]
    if rack.alone:
        lines += ["", *folded(f"without a partner: {', '.join(p.name for p in rack.alone)}", "", "  ")]
    if rack.failed:
        lines += [""]
        for path, why in rack.failed:
            lines += folded(f"failed: {why_failed(path, why)}", "", "  ")
    return lines


def _pair_rows(pair: RackPair, units: Unit) -> list[list[str]]:
    rows = []
    match = pair.pair.registration
    for i, layout in enumerate(pair.layouts):
        best = layout.openings[0]
        opened = f"{best.joint_edge} edge, neck {best.neck_end}"
        if best.show_face == "other":
            opened += ", turned over"
        rows.append(
            [
                _cut(pair_name(pair), 30) if i == 0 else "",
                f"{match.match:.2f}" if match and i == 0 else "",
                _cut(layout.outline.name, 17),
                verdict(best),
                least_spare(best, units),
                opened,
                f"{best.score:.0f}",
            ]
        )
    return rows


def pair_name(pair: RackPair) -> str:
    """Both files' names, the common part once: `cedar-01`, `IMG_0012 + 3`."""
    a, b = pair.a.stem, pair.b.stem
    if pair.a == pair.b:  # one picture of the opened pair
        return a
    if len(a) == len(b) and a[:-1] == b[:-1] and len(a) > 1:
        shared = a[:-1].rstrip("-_ ")
        return shared if (a[-1] + b[-1]).lower() == "ab" and shared else f"{a} + {b[-1]}"
    return f"{a} + {b}"


def why_failed(path: Path, why: str) -> str:
    """The file's name and what is wrong with it, the name once."""
    for start in (str(path), path.name):
        why = why.removeprefix(f"{start}: ")
    return f"{path.name}: {why}"


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else f"{text[: room - 1]}…"


def rack_csv(rack: Rack) -> str:
    """The rack as CSV: a row for each pair and outline, each leaf alone, each failed file; mm and degrees."""
    out = io.StringIO()
    writer = csv.DictWriter(out, _FIELDS, restval="", lineterminator="\n")
    writer.writeheader()
    for pair in rack.pairs:
        for layout in pair.layouts:
            writer.writerow(_csv_row(pair, layout))
    for path in rack.alone:
        writer.writerow({"found": "alone", "a": path.name})
    for path, why in rack.failed:
        writer.writerow({"found": "failed", "a": path.name, "why": why})
    return out.getvalue()


_FIELDS = (
    "found", "a", "b", "match", "outline", "verdict",
    "score", "spare_mm", "end_spare_mm", "joint_room_mm", "joint_edge", "neck_end",
    "show_face", "a_is", "planing_a_end1_mm", "planing_a_end2_mm", "planing_b_end1_mm", "planing_b_end2_mm",
    "slide_mm", "grain_tilt_deg", "lpi_joint", "lpi_middle", "lpi_edge", "why",
)  # fmt: skip


def _csv_row(pair: RackPair, layout: Layout) -> dict[str, object]:
    best = layout.openings[0]
    match = pair.pair.registration
    row: dict[str, object] = {
        "found": "pair",
        "a": pair.a.name,
        "b": pair.b.name,
        "match": "" if match is None else round(match.match, 3),
        "outline": layout.outline.name,
        "verdict": verdict(best),
        "joint_edge": best.joint_edge,
        "neck_end": best.neck_end,
        "show_face": best.show_face,
        "a_is": best.a_is,
        "why": "" if best.fits else "; ".join(best.reasons),
    }
    numbers = {
        "score": best.score,
        "spare_mm": best.spare_mm,
        "end_spare_mm": best.end_spare_mm,
        "joint_room_mm": best.joint_room_mm,
        "planing_a_end1_mm": best.a.planing_end1_mm,
        "planing_a_end2_mm": best.a.planing_end2_mm,
        "planing_b_end1_mm": best.b.planing_end1_mm,
        "planing_b_end2_mm": best.b.planing_end2_mm,
        "slide_mm": best.slide_mm,
        "grain_tilt_deg": best.grain.tilt_deg,
        "lpi_joint": best.grain.lpi_joint,
        "lpi_middle": best.grain.lpi_middle,
        "lpi_edge": best.grain.lpi_edge,
    }
    return row | {name: "" if value is None else round(value, 2) for name, value in numbers.items()}
