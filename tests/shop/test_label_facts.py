"""Which pairs get labels, and on which side of each leaf's sawn face its joint edge lies."""

from pathlib import Path
from typing import Any

import pytest

from laid_pairs import laid_pair, layout_document, shop_in
from seamlight.mistake import Mistake
from seamlight.shop.choices import keep_choice
from seamlight.shop.label_facts import has_leaves, joint_sides, pairs_named
from seamlight.shop.readings import keep_reading
from seamlight.shop.stages import move
from seamlight.shop.wood import delete_pair, new_pair


def mirrored(b_shows: str) -> dict[str, Any]:
    """Leaf A's joint on its left; leaf B's, as photographed, on its right."""
    document = layout_document("parlour", 4.0)
    document["pair"]["b_shows"] = b_shows
    leaves = document["openings"][0]["leaves"]
    leaves["b"] = {**leaves["b"], "joint_line_mm": [[180, 0], [180, 480]]}
    return document


@pytest.mark.parametrize(("b_shows", "b_side"), [("sawn", "right"), ("other", "left")])
def test_the_side_is_that_of_the_sawn_face(tmp_path: Path, b_shows: str, b_side: str) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        pair = new_pair(change, kind="top")
        document = mirrored(b_shows)
        keep_reading(change, "layout", document, pair_id=pair.id, says={"outline": "parlour"})
        assert joint_sides(change.session, pair.id) is None
        opening = document["openings"][0]
        keep_choice(change, pair.id, outline={"name": "parlour"}, opening={}, document=opening)
        sides = joint_sides(change.session, pair.id)
        assert sides is not None
        assert (sides.a, sides.b) == ("left", b_side)


def test_pairs_by_their_labels_or_all_that_are_there(tmp_path: Path) -> None:
    with shop_in(tmp_path) as (shop, _), shop.change("owner") as change:
        rows = [laid_pair(change) for _ in range(4)]
        neck = new_pair(change, kind="neck")
        delete_pair(change, rows[2].id)
        move(change, [rows[3].id], "used")
        assert [row.label for row in pairs_named(change.session, "")] == ["N1", "T1", "T2"]
        assert [row.label for row in pairs_named(change.session, "t2, T1;t2")] == ["T2", "T1"]
        with pytest.raises(Mistake, match="no pair is labelled 'T3'"):
            pairs_named(change.session, "T1 T3")
        assert has_leaves(rows[0])
        assert not has_leaves(neck)
