"""A board on two supports under a weight: from deflection to stiffness, and back."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from seamlight.mistake import Mistake
from seamlight.plate.ritz_shear import SHEAR_FACTOR

ReadAt = Literal["middle", "load"]
Width = Literal["beam", "plate"]


@dataclass(frozen=True)
class Rig:
    """Two supports and a weight; mm, N. The weight lies across the full width, or it is a narrow board."""

    span_mm: float
    load_n: float
    at_mm: float  # from the nearer support
    read_at: ReadAt = "middle"


@dataclass(frozen=True)
class RigDoubts:
    """Standard deviations of what is read on the rig; common practice, no source."""

    deflection_mm: float = 0.05
    span_mm: float = 0.5
    at_mm: float = 1.0
    load_pct: float = 0.5
    width_mm: float = 0.5
    thickness_mm: float = 0.03


@dataclass(frozen=True)
class Deflected:
    """What a deflection says; MPa, percent."""

    e_mpa: float
    spread_pct: float
    stiffness_spread_pct: float  # of E h^3, without the calliper's doubt
    shear_pct: float  # part of the deflection that is shear
    warnings: tuple[str, ...] = field(default=())


def check_rig(rig: Rig, length_mm: float) -> None:
    """Raise where the rig cannot be.

    Raises:
        Mistake: which measure, and what to do.
    """
    if rig.span_mm > length_mm:
        raise Mistake(
            f"a span of {rig.span_mm:g} mm is longer than the piece ({length_mm:g} mm)",
            where="--span",
            do="give the distance between the supports",
        )
    if rig.span_mm <= 0 or rig.load_n <= 0:
        raise Mistake("span and load must be above 0", where="--span and --load", do="give mm and N")
    if not 0 < rig.at_mm <= rig.span_mm / 2 + 1e-9:
        raise Mistake(
            f"the load at {rig.at_mm:g} mm is not between a support and the middle ({rig.span_mm / 2:g} mm)",
            where="--at",
            do="give its distance from the nearer support",
        )


def _bend_and_shear(rig: Rig) -> tuple[float, float]:
    """Deflection per load for E I = 1 and for k G A = 1, where it is read."""
    span, near = rig.span_mm, rig.at_mm
    if rig.read_at == "middle":
        # simply supported beam, load at b from the nearer support, read in the middle:
        # F b (3 L^2 - 4 b^2) / 48 E I
        return near * (3 * span**2 - 4 * near**2) / 48, near / 2
    # the same, read under the load: F a^2 b^2 / 3 L E I; shear adds bending moment over k G A
    far = span - near
    return near**2 * far**2 / (3 * span), near * far / span


def deflection_mm(
    rig: Rig, width_mm: float, thickness_mm: float, e_mpa: float, e_over_g: float = 0.0
) -> float:
    """Deflection of a board on the rig, mm; `e_over_g` of 0 leaves shear out.

    >>> round(deflection_mm(Rig(457, 22.2, 152), 200, 3.2, 10000), 2)
    6.88
    """
    bend, shear = _bend_and_shear(rig)
    inertia = width_mm * thickness_mm**3 / 12
    return float(
        rig.load_n / e_mpa * (bend / inertia + shear * e_over_g / (SHEAR_FACTOR * width_mm * thickness_mm))
    )


def modulus_from_deflection(
    rig: Rig,
    length_mm: float,
    width_mm: float,
    thickness_mm: float,
    read_mm: float,
    *,
    e_over_g: float = 15.6,
    nu_product: float = 0.011,
    width: Width = "beam",
    doubts: RigDoubts | None = None,
) -> Deflected:
    """E along the span from a deflection.

    Args:
        length_mm: of the piece along the span.
        width_mm, thickness_mm: across the span, over its full width.
        e_over_g: E along the span over shear modulus through the thickness.
        nu_product: product of the two Poisson ratios of the board.
        width: "beam" for edges free to curl across; "plate" where the weight or the supports hold a wide
            plate flat across, which makes it stiffer by 1 / (1 - nu nu).

    Raises:
        Mistake: the rig cannot be, or no wood bends like that.
    """
    check_rig(rig, length_mm)
    if read_mm <= 0:
        raise Mistake("the deflection must be above 0", where="--deflection", do="give it in mm, downward")
    unit = deflection_mm(rig, width_mm, thickness_mm, 1.0, e_over_g)
    bend = deflection_mm(rig, width_mm, thickness_mm, 1.0)
    # cylindrical bending, A. W. Leissa, NASA SP-160 (1969), section 9.1: D = E h^3 / 12 (1 - nu nu)
    e_mpa = unit / read_mm * (1 - nu_product if width == "plate" else 1.0)
    _check_modulus(e_mpa, rig, read_mm)
    total, stiff = _spreads(rig, width_mm, thickness_mm, read_mm, doubts or RigDoubts())
    return Deflected(
        e_mpa,
        100 * total,
        100 * stiff,
        100 * (1 - bend / unit),
        _warnings(rig, width_mm, thickness_mm, read_mm, nu_product, width),
    )


def _check_modulus(e_mpa: float, rig: Rig, read_mm: float) -> None:
    # Across the grain down to some 200 MPa, along it up to some 30 GPa: common practice, no source
    if not 100 < e_mpa < 40_000:
        tenfold = (
            "the point in the deflection" if 100 < e_mpa / 10 < 40_000 or 100 < e_mpa * 10 < 40_000 else "it"
        )
        raise Mistake(
            f"E comes out {e_mpa / 1000:.3g} GPa, which no wood has",
            where=f"--load {rig.load_n:g} --deflection {read_mm:g}",
            do=f"check {tenfold}, that the load is in N (1 kg is 9.81 N) and the thickness",
        )


def _spreads(
    rig: Rig, width_mm: float, thickness_mm: float, read_mm: float, said: RigDoubts
) -> tuple[float, float]:
    bend, _ = _bend_and_shear(rig)

    def relative(other: Rig) -> float:
        return _bend_and_shear(other)[0] / bend - 1

    near = min(rig.at_mm, rig.span_mm / 2 - 0.5)
    longer = Rig(rig.span_mm + 1, rig.load_n, rig.at_mm * (1 + 1 / rig.span_mm), rig.read_at)
    moved = Rig(rig.span_mm, rig.load_n, near + 0.5, rig.read_at)
    from_rig = Rig(rig.span_mm, rig.load_n, near, rig.read_at)
    by_at = (relative(moved) - relative(from_rig)) / 0.5
    parts = (
        said.deflection_mm * 2**0.5 / read_mm,  # read with and without the weight
        relative(longer) * said.span_mm,
        by_at * said.at_mm,
        said.load_pct / 100,
        said.width_mm / width_mm,
    )
    stiff = float(np.sqrt(sum(part**2 for part in parts)))
    return float(np.hypot(stiff, 3 * said.thickness_mm / thickness_mm)), stiff


def _warnings(
    rig: Rig, width_mm: float, thickness_mm: float, read_mm: float, nu_product: float, width: Width
) -> tuple[str, ...]:
    lines = []
    if rig.span_mm < 30 * thickness_mm:
        lines.append(
            f"the span is only {rig.span_mm / thickness_mm:.0f} thicknesses: shear and the dents under the"
            " supports count; take a longer span"
        )
    if read_mm > rig.span_mm / 20:
        lines.append(
            "it bends by more than a twentieth of the span, where the formula runs short: take less weight"
        )
    if width == "beam" and width_mm > rig.span_mm / 2:
        lines.append(
            f"wide beside its span: were it held flat across, E would come out {100 * nu_product:.1f} % lower"
        )
    return tuple(lines)
