"""What the wood says: direction, ring lines and spacing, ring angle on the end grain, flaws.

In: a flat leaf (`photo.flat.FlatLeaf`), pictures of its ends, a person's edits. Out: a `Reading`, or its
parts: `grain_field` (direction, spacing, coherence on a grid), `ring_lines`, `read_end`, `edit_flaws`;
`ring_borders` reads a core or any strip with upright rings. `read_leaf` joins them, `write_field` keeps a
field.
"""

from seamlight.grain.assemble import read_leaf, write_field
from seamlight.grain.edits import edit_flaws
from seamlight.grain.endgrain import is_quartered, read_end
from seamlight.grain.field import GrainField
from seamlight.grain.field_survey import grain_field
from seamlight.grain.flaw import FLAW_KINDS, Flaw, FlawKind
from seamlight.grain.reading import EndGrain, Reading, Thirds
from seamlight.grain.rings import ring_borders, ring_lines

__all__ = [
    "FLAW_KINDS",
    "EndGrain",
    "Flaw",
    "FlawKind",
    "GrainField",
    "Reading",
    "Thirds",
    "edit_flaws",
    "grain_field",
    "is_quartered",
    "read_end",
    "read_leaf",
    "ring_borders",
    "ring_lines",
    "write_field",
]
