"""Small things that the tests of the shop keep."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from seamlight.shop import Change, Shop, add_row
from seamlight.shop.arrivals import file_to_pair, take_in
from seamlight.shop.photos import add_photo
from seamlight.shop.wood import new_pair

JPEG = "image/jpeg"


class Clock:
    """A clock that a test moves; every look at it is a second later."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 12, 9, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now

    def wait(self, **much: float) -> None:
        """Let time pass, as `timedelta` takes it."""
        self.now += timedelta(**much)


def keep(shop: Shop, change: Change, data: bytes) -> str:
    """A file and its row."""
    sha = shop.files.keep(data, JPEG)
    add_row(change, sha, JPEG, len(data))
    return sha


def upload(shop: Shop, key: str, data: bytes) -> int:
    """One upload, as a phone sends it: the file, then its rows; its arrival's number."""
    sha = shop.files.keep(data, JPEG)
    with shop.change("phone") as change:
        add_row(change, sha, JPEG, len(data))
        arrival, _ = take_in(change, sha, key, name_given=f"{key}.jpg")
        return arrival.id


def pair_with_photos(shop: Shop, label: str, **fields: object) -> int:
    """A pair with both leaves' photographs; its number."""
    with shop.change("owner") as change:
        pair = new_pair(change, kind="top", label=label, **fields)
        for role in ("a", "b"):
            add_photo(change, pair.id, keep(shop, change, f"{label} {role}".encode()), role)
        return pair.id


def filed(shop: Shop, key: str, data: bytes, pair_id: int, role: str) -> int:
    """An upload filed to a pair; the photograph's number."""
    arrival_id = upload(shop, key, data)
    with shop.change("owner") as change:
        return file_to_pair(change, arrival_id, pair_id, role).id


def reading(
    outline: str | None = None, *, spare_mm: float = 5.0, end_spare_mm: float = 50.0, lines: float = 18.0
) -> dict[str, object]:
    """The few fields of a `read` or a `layout` document that the rack repeats."""
    if outline is None:
        thirds = {"left": lines, "middle": lines + 1, "right": None}
        leaf = {"length_mm": 560.0, "width_end1_mm": 215.0, "width_end2_mm": 210.5}
        return {"schema": "seamlight/read/1", "leaf": leaf, "grain": {"lines_per_inch": thirds}}
    fits = spare_mm >= 0 and end_spare_mm >= 0
    opening = {"fits": fits, "spare_mm": spare_mm, "end_spare_mm": end_spare_mm}
    return {"schema": "seamlight/layout/1", "outline": {"name": outline}, "openings": [opening]}
