"""What taps or a deflection come to: constants, sound figures, targets, with where they came from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from seamlight.plate.meaning import Beside
from seamlight.plate.peaks import Mode, Peak
from seamlight.plate.piece import Kind, Piece
from seamlight.plate.stiffness import Elastic
from seamlight.plate.thickness import Target


@dataclass(frozen=True)
class AtMoisture:
    """Moisture content that the day's air gives, and constants at the shop's standard one; None: unknown."""

    moisture_pct: float
    standard_pct: float
    e_along_mpa: float | None
    e_across_mpa: float | None
    g_mpa: float | None
    density_kg_m3: float | None


@dataclass(frozen=True)
class PlateResult:
    """Constants of one piece. None where nothing told them; the warnings say why.

    Attributes:
        elastic: the same constants, the untold ones assumed from the species: for models, not shown.
        g_mpa: of a plate in its plane; of a bar along the grain through its thickness.
        stiffness_spread_pct: spread of E h^3 along and across.
        sure: 0..1 that the modes were told rightly.
        effects_pct: what air, shear and taper do to each mode's frequency or mass, under plain names.
    """

    way: Literal["taps", "deflection"]
    kind: Kind
    piece: Piece
    elastic: Elastic
    density_kg_m3: float | None
    e_along_mpa: float | None
    e_across_mpa: float | None
    g_mpa: float | None
    spread_pct: dict[str, float | None]
    stiffness_spread_pct: tuple[float, float]
    span_over_thickness: float | None = None
    peaks: tuple[tuple[Peak, Mode], ...] = ()
    loss_along: float | None = None
    loss_across: float | None = None
    sure: float = 1.0
    mixed: bool = False
    effects_pct: dict[str, float] = field(default_factory=dict)
    moisture: AtMoisture | None = None
    beside: tuple[Beside, ...] = ()
    targets: tuple[Target, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
