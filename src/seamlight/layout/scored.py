"""The score as shown, with its parts in words and numbers."""

from __future__ import annotations

from seamlight.layout.body import ZONES
from seamlight.layout.judge import Half, Verdict
from seamlight.layout.score import (
    EVEN,
    FIGURE,
    LITTLE_PLANED,
    QUARTERED,
    STRAIGHT,
    TIGHT,
    Key,
    figure_tenths,
    shown,
    spread_deg,
    third_means,
    unevenness,
)
from seamlight.units import MM_PER_INCH

Part = tuple[str, float, str]
_FLAWS = {
    "waste": "no flaw inside the outline",
    "soundhole": "flaws inside lie in the soundhole, which is cut out",
    "bridge": "flaws inside lie under the bridge and its plate at worst",
    "fingerboard": "flaws inside lie under the fingerboard at worst",
    "edge": "flaws inside lie in the edge band that binding takes at worst",
    "open": "a flaw lies in the open",
}


def score_parts(
    key: Key,
    verdicts: tuple[Verdict, Verdict],
    halves: tuple[Half, Half],
    moved_mm: float,
    figure_read: bool,
) -> tuple[float, tuple[Part, ...]]:
    """The score, 0..100, and its parts (name, points of the score, words), which add up to it."""
    points = shown(key)
    if key.short:
        return points.fit, (("fit", points.fit, f"short by {key.short / 100:.1f} mm: nothing else counts"),)
    rest = _rest(verdicts, halves, moved_mm, figure_read)
    total = sum(p for _, p, _ in rest)
    share = points.rest / total if total > 0 else 0.0
    parts = (
        ("fit", points.fit, "outline, seam and trims on sound wood of both leaves"),
        ("flaws", points.flaws, _FLAWS[ZONES[key.zone]]),
        ("grain at the seam", points.grain, _seam_words(halves, key)),
        *(
            (name, p * share, f"{text} ({p:.1f} of {most:.0f})")
            for (name, p, text), most in zip(
                rest, (STRAIGHT, TIGHT, QUARTERED, EVEN, LITTLE_PLANED, FIGURE), strict=True
            )
        ),
        ("room to spare", points.room, f"{max(0.0, -key.tight / 100):.1f} mm beside the outline"),
    )
    return points.total, parts


def _seam_words(halves: tuple[Half, Half], key: Key) -> str:
    if all(h.side.angle_deg is None for h in halves):
        return "direction not read"
    return f"{key.grain / 10:.1f} degrees to the joint within 20 mm of it, the worse leaf"


def _rest(
    verdicts: tuple[Verdict, Verdict], halves: tuple[Half, Half], moved_mm: float, figure_read: bool
) -> list[Part]:
    """The remaining parts in points of 100 before they are fitted into the score."""
    a, b = verdicts

    def mean(name: str) -> float:
        return sum(float(getattr(v.parts, name)) for v in verdicts) / 2

    angles = any(h.side.angle_deg for h in halves)
    spacings = any(h.side.spacing_mm for h in halves)
    rings = any(h.side.ring_to_face_deg for h in halves)
    spread = max(float(spread_deg(v.sums)) for v in verdicts)
    joint, edge = (_lines(verdicts, halves, i) for i in (0, 2))
    uneven = max(float(unevenness(v.sums)) for v in verdicts)
    ring = max(v.ring_deg for v in verdicts)
    most = max(a.planed_most_mm, b.planed_most_mm)
    return [
        (
            "grain over the plate",
            mean("straight"),
            f"within {spread:.1f} degrees of the centre line (root mean square)" if angles else "not read",
        ),
        (
            "tight wood at the seam",
            mean("tight"),
            f"{joint:.0f} lines per inch at the seam, {edge:.0f} at the edge" if spacings else "not read",
        ),
        (
            "quartered wood at the seam",
            mean("quartered"),
            f"rings {ring:.0f} degrees to the face at the seam" if rings else "no end grain was read",
        ),
        (
            "even spacing",
            mean("even"),
            f"ring spacing varies by {100 * uneven:.0f} % over the plate" if spacings else "not read",
        ),
        ("little planed away", mean("little_planed"), f"{most:.1f} mm at most off a joint edge"),
        (
            "figure at the seam",
            figure_tenths(moved_mm, figure_read) / 10,
            _figure_words(moved_mm, figure_read),
        ),
    ]


def _figure_words(moved_mm: float, figure_read: bool) -> str:
    if figure_read:
        return f"leaf B {abs(moved_mm):.1f} mm from where its figure meets leaf A's"
    lies = "end on end" if abs(moved_mm) < 0.05 else f"{abs(moved_mm):.1f} mm along from end on end"
    return f"not read: nothing says where leaf B's figure meets leaf A's; it lies {lies}"


def _lines(verdicts: tuple[Verdict, Verdict], halves: tuple[Half, Half], third: int) -> float:
    """Lines per inch of a third, counted from the joint, over the leaves that were read."""
    means = [
        float(third_means(v.sums)[third]) for h, v in zip(halves, verdicts, strict=True) if h.side.spacing_mm
    ]
    mean = sum(means) / len(means) if means else 0.0
    return MM_PER_INCH / mean if mean > 0 else 0.0
