"""What a form or a program was looking at: versions that were never there, and none at all."""

from __future__ import annotations

import pytest
from asking import Browser
from filed_pair import file_pair

from seamlight.shop.shop import Shop
from seamlight.shop.wood import pair

HUGE = "9" * 25


@pytest.mark.parametrize("version", [None, "", "0", HUGE])
def test_facts_are_not_overwritten_without_their_version(
    owner: Browser, shop: Shop, version: str | None
) -> None:
    filed = file_pair(shop, label="first")
    said = {} if version is None else {"version": version}
    answer = owner.press(f"/wood/pairs/{filed.id}/edit", label="mine", kind="top", **said)
    assert answer.status_code == 409
    with shop.read() as session:
        assert pair(session, filed.id).label == "first"


@pytest.mark.parametrize("version", [int(HUGE), 3_000_000_000])
def test_a_version_beyond_all_versions_is_told_not_a_fault(owner: Browser, shop: Shop, version: int) -> None:
    filed = file_pair(shop)
    header = {"x-csrf": owner.token()}
    placing = owner.get(f"/api/pairs/{filed.id}/work").json()["judged"]["placing"]
    chosen = {"outline": "parlour", "placing": placing, "version": version}
    answers = [
        owner.put(f"/api/pairs/{filed.id}/choice", json=chosen, headers=header),
        owner.put(
            f"/api/pairs/{filed.id}/flaws/a?outline=parlour",
            json={"edits": {}, "version": version},
            headers=header,
        ),
        owner.press(f"/wood/pairs/{filed.id}/choose", outline="parlour", number="1", version=str(version)),
        owner.press(f"/wood/pairs/{filed.id}/delete", version=str(version)),
    ]
    assert [answer.status_code for answer in answers] == [409] * 4
