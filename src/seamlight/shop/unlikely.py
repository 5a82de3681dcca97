"""A figure that is hardly meant is asked about once, with what was likely meant; sent again, it is taken."""

from __future__ import annotations

from urllib.parse import quote

from seamlight.mistake import Mistake
from seamlight.units import likely_slip

# What pieces of wood for one instrument measure and weigh at most and at least: common practice, no source.
THICK_MM = {
    "top": (1.2, 12.0),
    "back": (1.2, 12.0),
    "sides": (1.2, 10.0),
    "neck": (8.0, 120.0),
    "fingerboard": (3.0, 16.0),
    "brace stock": (3.0, 100.0),
    "other": (0.3, 150.0),
}
LEAF_G = (15.0, 2500.0)  # a top, a back, a pair of sides: one leaf or both
PIECE_G = (1.0, 20_000.0)
OFF_EDGE_MM = (0.005, 15.0)
MEASURED = {
    "top thickness": (1.0, 8.0),
    "back thickness": (1.0, 8.0),
    "side thickness": (1.0, 6.0),
    "top weight": (20.0, 2500.0),
    "back weight": (20.0, 2500.0),
    "lines per inch": (2.0, 80.0),
}
AS_IT_IS = "write what is meant, or send it again as it is"
# Grams that slipped, in the order they happen.
_GRAMS = (
    (1000.0, "the comma sets thousands apart, or kilograms"),
    (0.001, "the point three places too far right"),
    (28.349523125, "ounces"),  # the international ounce: 28.349523125 g by definition
    (10.0, "the point one place too far left"),
    (0.1, "the point one place too far right"),
    (0.01, "the point two places too far right"),
)


class Unlikely(Mistake):
    """A figure to be asked about.

    Attributes:
        sure: what a form sends along so that the same figure is taken the next time.
    """

    def __init__(self, what: str, where: str, sure: str) -> None:
        self.sure = sure
        super().__init__(what, where=where, do=AS_IT_IS)


def ask(slip: str | None, where: str, typed: str, sure: str = "") -> None:
    """Ask about a figure.

    Args:
        slip: what is unlikely about it, and what was likely meant; None where nothing is.
        where: the form's field.
        typed: as it stands there.
        sure: what was asked before and sent again (`Unlikely.sure`).

    Raises:
        Unlikely: it is not likely and was not asked about yet.
    """
    asked = f"{where}={quote(typed.strip())}"
    before = [one for one in sure.split("&") if one]
    if slip is not None and asked not in before:
        raise Unlikely(slip, where, "&".join([*before[-8:], asked]))


def thickness_slip(kind: str, thickness_mm: float) -> str | None:
    """What is unlikely about a piece's thickness."""
    slip = likely_slip(thickness_mm, *THICK_MM.get(kind, THICK_MM["other"]))
    return f"{_one(kind)}: {slip}" if slip else None


def planed_slip(off_mm: float) -> str | None:
    """What is unlikely about wood planed off a joint edge at once."""
    slip = likely_slip(abs(off_mm), *OFF_EDGE_MM) if off_mm else None
    return f"off a joint edge: {slip}" if slip else None


def grams_slip(kind: str, grams: float) -> str | None:
    """What is unlikely about a piece's weight."""
    return _weight(grams, *(LEAF_G if kind in ("top", "back", "sides") else PIECE_G))


def measured_slip(what: str, value: float) -> str | None:
    """What is unlikely about a figure measured by hand."""
    low_high = MEASURED.get(what)
    if low_high is None:
        return None
    if what.endswith("thickness"):
        slip = likely_slip(value, *low_high)
        return f"{what}: {slip}" if slip else None
    if what.endswith("weight"):
        return _weight(value, *low_high)
    low, high = low_high
    return None if low <= value <= high else f"{what}: {value:g} is not between {low:g} and {high:g}"


def _weight(grams: float, low: float, high: float) -> str | None:
    if low <= grams <= high:
        return None
    said = f"{grams:g} g is not between {low:g} and {high:g} g"
    meant = next(
        (f"{grams * times:.4g} g ({why})" for times, why in _GRAMS if low <= grams * times <= high), ""
    )
    return f"{said}; perhaps {meant}" if meant else said


def _one(kind: str) -> str:
    return {"sides": "sides", "brace stock": "brace stock", "other": "a piece"}.get(kind, f"a {kind}")
