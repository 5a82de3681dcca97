"""A whole rack that was read at the command line, filed in the shop with its readings and layouts."""

from __future__ import annotations

import mimetypes
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from seamlight.layout.rack import Rack, RackPair
from seamlight.shop.arrivals import take_in
from seamlight.shop.change import Change
from seamlight.shop.file_rows import add_row
from seamlight.shop.pair_reading import kept_of
from seamlight.shop.photos import add_photo
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Pair
from seamlight.shop.taking_in import ask_look, keep_pair_reading
from seamlight.shop.wood import new_pair

FILED_PX_PER_MM = 2.0  # of the flat pictures that are filed: pages work on them


def file_rack(shop: Shop, who: str, rack: Rack, facts: Mapping[str, Any]) -> tuple[Pair, ...]:
    """File every pair; leaves without a partner wait among what came in. A pair is filed whole or not at all.

    Args:
        shop: where.
        who: for the history.
        rack: read with pictures at `FILED_PX_PER_MM`.
        facts: columns that all pairs share: kind, species, supplier, scale_spec, thickness_mm, ...
    """
    pairs = tuple(_file(shop, who, found, facts) for found in rack.pairs)
    for path in rack.alone:
        sha, media_type = _keep(shop, path)
        with shop.change(who) as change:
            _row(change, path, sha, media_type)
            arrived, new = take_in(
                change,
                sha,
                f"rack {sha}",
                name_given=path.name,
                scale_spec=facts.get("scale_spec"),
                thickness_mm=facts.get("thickness_mm"),
            )
            if new:
                ask_look(change, arrived.id)
    return pairs


def _file(shop: Shop, who: str, found: RackPair, facts: Mapping[str, Any]) -> Pair:
    kept = kept_of(found.pair, found.pair, found.layouts)
    shown = (("opened", found.a),) if found.a == found.b else (("a", found.a), ("b", found.b))
    files = {role: (path, *_keep(shop, path)) for role, path in shown}
    with shop.change(who) as change:
        pair = new_pair(change, **facts)
        for role, (path, sha, media_type) in files.items():
            _row(change, path, sha, media_type)
            add_photo(change, pair.id, sha, role, arrival=True, note=path.name)
        use = found.layouts[0].settings.use if found.layouts else "top"
        shas = [sha for _, sha, _ in files.values()]
        keep_pair_reading(change, shop, pair.id, kept, use=use, files=shas)
    return pair


def _keep(shop: Shop, path: Path) -> tuple[str, str]:
    """Keep a photograph that was read, so that its ending says what it is."""
    guessed = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    media_type = {".heic": "image/heif", ".heif": "image/heif"}.get(path.suffix.lower(), guessed)
    return shop.files.keep(path, media_type), media_type


def _row(change: Change, path: Path, sha: str, media_type: str) -> None:
    add_row(change, sha, media_type, path.stat().st_size)
