"""Sound and stiffness: taps to frequencies, frequencies to elastic constants, constants to thickness.

In: peaks of a tapped plate or bar (`TapReading`) or a deflection on two supports, with the piece's size and
weight
(`parse_piece`). Out: E along, E across and G with their spreads (`tapped_plate`, `tapped_bar`,
`deflected_plate`
give a `PlateResult`), thicknesses by rule (`targets_of`), the outline's plate by finite elements
(`outline_plate`),
braces (`braces`), what is left to take where (`thickness_map`). `TapDocument` is the JSON of `tap` and
`deflect`.
Lengths mm, weights g, moduli MPa, loads N; the grain runs along the length.
"""

from seamlight.plate.agreement import Agreement, Estimate, agreement
from seamlight.plate.deflected import deflected_plate
from seamlight.plate.document import TapDocument
from seamlight.plate.invert import Doubts, Inverted, invert
from seamlight.plate.leaves import Constants, joined, pooled
from seamlight.plate.modes import Identified, identify
from seamlight.plate.outline_plate import OutlinePlate, outline_plate
from seamlight.plate.peaks import Mode, Peak, Place, TapReading
from seamlight.plate.piece import Piece, parse_piece
from seamlight.plate.places import HoldAndTap, hold_and_tap
from seamlight.plate.result import PlateResult
from seamlight.plate.static import Rig
from seamlight.plate.stiffness import Elastic
from seamlight.plate.tapped import Circumstances, peaks_alone, tapped_bar, tapped_plate
from seamlight.plate.targets import average_reference, targets_of
from seamlight.plate.thickness import RULES, Board, Reference, Target

__all__ = [
    "RULES",
    "Agreement",
    "Board",
    "Circumstances",
    "Constants",
    "Doubts",
    "Elastic",
    "Estimate",
    "HoldAndTap",
    "Identified",
    "Inverted",
    "Mode",
    "OutlinePlate",
    "Peak",
    "Piece",
    "Place",
    "PlateResult",
    "Reference",
    "Rig",
    "TapDocument",
    "TapReading",
    "Target",
    "agreement",
    "average_reference",
    "deflected_plate",
    "hold_and_tap",
    "identify",
    "invert",
    "joined",
    "outline_plate",
    "parse_piece",
    "peaks_alone",
    "pooled",
    "tapped_bar",
    "tapped_plate",
    "targets_of",
]
