"""Ways to open a pair, and where the outline goes.

In: readings of one or two leaves (or leaves typed in as `Leaf`) and an outline. Out: how leaf B lies on leaf
A (`register`), the openings best first with what blocks them and what can be done (`lay_out`), and which
leaves of a folder are pairs (`find_pairs`). `photographs` and `rack` make these calls from picture files.
"""

from seamlight.layout.folder import find_pairs
from seamlight.layout.opening import Layout, LayoutSettings, Opening
from seamlight.layout.openings import lay_out
from seamlight.layout.pair import Leaf, Registration
from seamlight.layout.register import register

__all__ = ["Layout", "LayoutSettings", "Leaf", "Opening", "Registration", "find_pairs", "lay_out", "register"]
