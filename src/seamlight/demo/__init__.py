"""The demo room: an invented workshop whose wood is grown and sawn by a model, so its truth is known.

In: seeds and a few choices (species, ring width, knots, lean). Out: logs (`wood.grow_log`), sawn pairs
(`saw.saw_pair`), pictures of faces and ends with exact truth (`saw.face`, `saw.end`), photographs and
scans of them (`phone.photograph`, `phone.photograph_pair`, `phone.scan`), the rack of an invented shop
(`scenes`), and the fixed table of cases that truth tests end on (`cases`). All of it is invented; nothing
here is a measured fact.
"""

from seamlight.demo import cases, phone, saw, shop, wood
from seamlight.demo.shop import RACK, scenes

__all__ = ["RACK", "cases", "phone", "saw", "scenes", "shop", "wood"]
