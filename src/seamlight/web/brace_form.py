"""What is typed about a brace, as values: its blank, the stiffness wanted, its shape."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from seamlight.mistake import Mistake
from seamlight.plate.braces import Blank, Brace, figures, height_for, runout, scalloped, tapered
from seamlight.plate.section import SECTIONS, SectionKind
from seamlight.shop.plate_documents import BraceDocument
from seamlight.units import Unit, parse_length
from seamlight.web.plate_form import length_of

N_MM2_PER_N_M2 = 1e6
# A brace's sizes, mm; common practice, no source
_WIDTHS, _HEIGHTS = (2.0, 40.0), (2.0, 60.0)


@dataclass(frozen=True)
class BraceMade:
    """A brace with its figures, as they are kept and as they are drawn."""

    document: BraceDocument
    brace: Brace


def blank_of(typed: Mapping[str, str]) -> Blank:
    """The blank by typed figures: E in GPa with its spread, density.

    Raises:
        Mistake: a figure is missing or no wood's.
    """
    e_gpa = number_of(typed, "e", "E along the grain", 3.0, 30.0)
    density = number_of(typed, "density", "the density", 200.0, 1300.0)
    spread = number_of(typed, "spread", "the spread", 0.0, 50.0) if typed.get("spread", "").strip() else 0.0
    return Blank(e_gpa * 1000, density, spread)


def number_of(typed: Mapping[str, str], name: str, what: str, low: float, high: float) -> float:
    """A typed figure within limits.

    Raises:
        Mistake: it is missing, none, or outside them.
    """
    text = typed.get(name, "").strip()
    if not text:
        raise Mistake(f"{what} is not given", where=name, do="tap or load the blank, or type it")
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise Mistake(f"{what} of {text} can't be", where=name, do=f"write {low:g} to {high:g}")
    return value


def brace_of(typed: Mapping[str, str], blank: Blank, unit: Unit) -> BraceMade:
    """The brace that was asked for.

    Height is as typed, or what gives the stiffness wanted at the width typed.

    Raises:
        Mistake: a size is missing or cannot be meant.
    """
    kind: SectionKind = next((name for name in SECTIONS if name == typed.get("section")), "rectangular")
    width = _within(length_of(typed, "brace_width", unit, "the brace's width"), "brace_width", _WIDTHS)
    long = length_of(typed, "brace_length", unit, "the brace's length")
    wanted = None
    if typed.get("brace_height", "").strip():
        height = length_of(typed, "brace_height", unit)
        where = "brace_height"
    else:
        wanted = (
            number_of(typed, "wanted", "the stiffness wanted, or a height,", 0.01, 500.0) * N_MM2_PER_N_M2
        )
        height, where = height_for(blank, kind, width, wanted), "wanted"
    _within(height, where, _HEIGHTS)
    if not 30 <= long <= 1200:
        raise Mistake(f"a brace of {long:g} mm can't be", where="brace_length", do="measure it again")
    brace = _shaped(typed, unit, kind, width, height, long)
    found = figures(brace, blank)
    document = BraceDocument(
        warnings=[],
        e_mpa=blank.e_mpa,
        spread_pct=blank.spread_pct or None,
        density_kg_m3=blank.density_kg_m3,
        section=kind,
        width_mm=width,
        height_mm=height,
        length_mm=long,
        stiffness_n_mm2=float(found.stiffness_n_mm2.max()),
        wanted_n_mm2=wanted,
        even_height_mm=found.even_height_mm,
        weight_g=found.weight_g,
        s_mm=[float(s) for s in brace.s_mm],
        heights_mm=[float(h) for h in brace.height_mm],
        lines=_lines(typed, height),
    )
    return BraceMade(document, brace)


def _within(value_mm: float, where: str, limits: tuple[float, float]) -> float:
    if not limits[0] <= value_mm <= limits[1]:
        raise Mistake(
            f"{value_mm:.1f} mm is no size of a brace",
            where=where,
            do=f"a brace has {limits[0]:g} to {limits[1]:g} mm there",
        )
    return value_mm


def _shaped(
    typed: Mapping[str, str], unit: Unit, kind: SectionKind, width: float, height: float, long: float
) -> Brace:
    """With tapered ends and a scallop, where they are typed."""
    taper = _maybe(typed, "taper", unit)
    end = _maybe(typed, "end_height", unit)
    if (taper is None) != (end is None):
        missing = "taper" if taper is None else "end_height"
        raise Mistake("a tapered end needs its height and its length", where=missing, do="give both")
    try:
        if taper and end is not None:
            brace = tapered(kind, width, height, long, end, taper)
        else:
            brace = tapered(kind, width, height, long, height, long / 4)
    except Mistake as mistake:
        raise Mistake(mistake.what, where="taper", do=mistake.do) from mistake
    low, at, reach = (_maybe(typed, name, unit) for name in ("scallop_height", "scallop_at", "scallop_reach"))
    if low is None and at is None and reach is None:
        return brace
    if low is None or at is None or not reach:
        raise Mistake("a scallop has a place, a height and a reach", where="scallop_at", do="give all three")
    try:
        return scalloped(brace, at, low, reach)
    except Mistake as mistake:
        raise Mistake(mistake.what, where="scallop_height", do=mistake.do) from mistake


def _maybe(typed: Mapping[str, str], name: str, unit: Unit) -> float | None:
    text = typed.get(name, "")
    return parse_length(text, unit, where=name) if text.strip() else None


def _lines(typed: Mapping[str, str], height_mm: float) -> list[str]:
    """What runout means for it."""
    text = typed.get("run", "").strip()
    if not text:
        return ["runout is not given: split the blank, do not saw it, or read its slope"]
    found = runout(number_of(typed, "run", "the runout", 0.0, 45.0), height_mm)
    return [found.words, f"bending strength left: about {found.strength_pct:.0f} % of straight grain"]
