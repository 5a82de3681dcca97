"""What is kept: pairs and their leaves, photographs, readings, stages, builds, devices.

In: a folder (`open_shop`), a person's name, kept files (`Files.keep`) and values. Out: rows of `tables`,
usable after the block they were read in. Everything changes inside `Shop.change(who)`, as one whole, with
its line of history; pairs and builds only through `kept` (make, edit, delete, bring_back), so that two
people never overwrite each other (`Conflict`). The subjects are modules that take the session or the change
first: `wood`, `photos`, `tally`, `arrivals`, `readings`, `choices`, `flaw_edits`, `settings`, `jobs`,
`history`, `figures`; the health of it all is `check`, its copies are `backup` and `restore`.
"""

from seamlight.shop.change import Change, Changed, Conflict
from seamlight.shop.disk import Disk
from seamlight.shop.file_rows import add_row
from seamlight.shop.files import Files
from seamlight.shop.made import Made
from seamlight.shop.opening import open_shop
from seamlight.shop.shop import Shop
from seamlight.shop.times import utc_now

__all__ = [
    "Change",
    "Changed",
    "Conflict",
    "Disk",
    "Files",
    "Made",
    "Shop",
    "add_row",
    "open_shop",
    "utc_now",
]
