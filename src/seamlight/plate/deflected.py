"""From a deflection on two supports to constants and what they mean."""

from __future__ import annotations

from typing import Literal

from seamlight.mistake import Mistake
from seamlight.plate.piece import Piece
from seamlight.plate.result import PlateResult
from seamlight.plate.start import expected
from seamlight.plate.static import Rig, RigDoubts, Width, modulus_from_deflection
from seamlight.plate.tapped import Circumstances, with_meaning

Direction = Literal["along", "across"]
_USUAL_DENSITY_KG_M3 = 400.0  # only for ratios of an unweighed piece
# Times the usual stiffness of a wood of that density; across a rift-sawn board is a seventh: common practice
_FAR, _NEAR = 8.0, 2.5


def deflected_plate(
    piece: Piece,
    rig: Rig,
    read_mm: float,
    day: Circumstances,
    *,
    direction: Direction = "along",
    width: Width = "beam",
    doubts: RigDoubts | None = None,
) -> PlateResult:
    """E along the grain, or across it where the supports run along the grain.

    Args:
        piece: weight 0 where it was not weighed.
        direction: of the span.

    Raises:
        Mistake: a rig that cannot be, or a deflection that no wood gives.
    """
    density = piece.density_kg_m3 or None
    prior = expected(day.species, density or _USUAL_DENSITY_KG_M3).elastic
    along = direction == "along"
    span_length, span_width = (
        (piece.length_mm, piece.width_mm) if along else (piece.width_mm, piece.length_mm)
    )
    ratio = (
        prior.e_along_mpa / prior.g_along_thick_mpa
        if along
        else prior.e_across_mpa / prior.g_across_thick_mpa
    )
    found = modulus_from_deflection(
        rig,
        span_length,
        span_width,
        piece.thickness_mm,
        read_mm,
        e_over_g=ratio,
        nu_product=prior.nu_along * prior.nu_across,
        width=width,
        doubts=doubts,
    )
    usual_mpa = prior.e_along_mpa if along else prior.e_across_mpa
    scale = found.e_mpa / usual_mpa
    _check_usual(scale, found.e_mpa, usual_mpa, direction, read_mm)
    elastic = prior.at(prior.e_along_mpa * scale, prior.e_across_mpa * scale, prior.g_mpa * scale)
    other = "across" if along else "along"
    spread: dict[str, float | None] = {"e_along": None, "e_across": None, "g": None}
    spread[f"e_{direction}"] = found.spread_pct
    result = PlateResult(
        way="deflection",
        kind="plate",
        piece=piece,
        elastic=elastic,
        density_kg_m3=density,
        e_along_mpa=found.e_mpa if along else None,
        e_across_mpa=None if along else found.e_mpa,
        g_mpa=None,
        spread_pct=spread,
        stiffness_spread_pct=(
            (found.stiffness_spread_pct, 50.0) if along else (50.0, found.stiffness_spread_pct)
        ),
        span_over_thickness=rig.span_mm / piece.thickness_mm,
        effects_pct={"shear_of_deflection": found.shear_pct},
        warnings=(
            *found.warnings,
            f"a weight over a span {direction} the grain tells nothing {other} it, and no shear modulus",
            *(() if density else ("the piece was not weighed: no density, no radiation coefficient",)),
        ),
    )
    return with_meaning(result, day)


def _check_usual(scale: float, e_mpa: float, usual_mpa: float, direction: Direction, read_mm: float) -> None:
    """Refuse what no board of this density comes near.

    Raises:
        Mistake: with what the deflection may have been.
    """
    if 1 / _FAR < scale < _FAR:
        return
    tenfold = next((read_mm * k for k in (10.0, 0.1) if 1 / _NEAR < scale / k < _NEAR), None)
    perhaps = "" if tenfold is None else f", perhaps a deflection of {tenfold:.3g} mm"
    raise Mistake(
        f"E {direction} comes out {e_mpa / 1000:.3g} GPa, where wood of this weight has some"
        f" {usual_mpa / 1000:.2g} GPa{perhaps}",
        where="--deflection",
        do="check the point in the deflection, the load in N (1 kg is 9.81 N), span and thickness",
    )
