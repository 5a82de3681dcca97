"""Photographs that came in are compared once, couple by couple; one leaf photographed twice is one leaf."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from seamlight.layout.figure import Figure
from seamlight.mistake import Mistake
from seamlight.shop.arrivals_met import (
    Came,
    Meetings,
    Met,
    couple_of,
    keep_meetings,
    meet,
    meet_all,
    meetings,
    worth_meeting,
)
from seamlight.shop.arrivals_paired import ALONE, MATCHING, Paired, paired
from seamlight.shop.look import Look, look_bytes
from seamlight.shop.made import Made


def rings(seed: int, noise: int) -> np.ndarray:
    """Rings like no other log's, with a little that only one photograph shows."""
    own = np.random.default_rng(seed)
    across = np.cumsum(own.uniform(3.0, 14.0, 80))
    x = np.arange(760.0)
    bands = sum(own.uniform(0.4, 1.0) * np.exp(-(((x - at) / 1.6) ** 2)) for at in across)
    marks = np.random.default_rng(noise).normal(0.0, 0.15, (420, 760))
    return np.clip((bands[None] + marks) * 60.0 - 20.0, -127, 127).astype(np.int8)


def leaf(folder: Path, name: str, lines: np.ndarray, sha: str | None = None) -> Came:
    path = folder / f"{name}.npz"
    path.write_bytes(look_bytes(Look(b"", 1, Figure(lines, 190.0, 420.0))))
    return Came(f"look-{name}", sha or f"sha of {name}", f"{name}.jpg", path)


class Counting:
    """Computes here, and counts."""

    def __init__(self, answers: dict[frozenset[str], Met] | None = None) -> None:
        self.met: list[frozenset[str]] = []
        self.answers = answers

    def __call__(self, call: object, *given: object) -> object:
        if call is meet:
            names = frozenset(Path(str(path)).stem for path in given)
            self.met.append(names)
            if self.answers is not None:
                return self.answers.get(names, Met(0.0, False))
        elif self.answers is not None:
            (leaves,) = given
            return [(i, j) for j in range(len(leaves)) for i in range(j)]  # type: ignore[arg-type]
        return call(*given)  # type: ignore[operator]


def test_mirrored_leaves_are_a_pair_and_strangers_are_not(tmp_path: Path) -> None:
    leaves = [
        leaf(tmp_path, "one", rings(1, 11)),
        leaf(tmp_path, "other", rings(2, 12)),
        leaf(tmp_path, "two", rings(1, 13)[:, ::-1]),
    ]
    found = meet_all(leaves, Meetings(), lambda call, *given: call(*given))
    assert found.seen == {one.look for one in leaves}
    (pair, alone) = paired(leaves, found)
    assert (pair.a, pair.b) == (0, 2)
    assert pair.says.startswith("a pair: the mirrored pictures match")
    assert found.met[couple_of("look-one", "look-two")].match > 0.85
    assert alone == Paired(1, None, ALONE)


def test_only_new_couples_are_looked_at(tmp_path: Path) -> None:
    leaves = [leaf(tmp_path, name, rings(n, n)) for n, name in enumerate("abc")]
    counting = Counting({})
    first = meet_all(leaves[:2], Meetings(), counting)
    assert counting.met == [frozenset("ab")]
    again = meet_all(leaves[:2], first, counting)
    assert again == first
    assert len(counting.met) == 1
    meet_all(leaves, first, counting)
    assert counting.met[1:] == [frozenset("ac"), frozenset("bc")]


def test_what_is_known_is_told_after_every_couple(tmp_path: Path) -> None:
    leaves = [leaf(tmp_path, name, rings(n, n)) for n, name in enumerate("abc")]
    told: list[tuple[int, int, int]] = []
    meet_all(
        leaves, Meetings(), Counting({}), lambda found, done, of: told.append((len(found.met), done, of))
    )
    assert told == [(1, 1, 3), (2, 2, 3), (3, 3, 3)]


def test_one_leaf_photographed_twice_still_meets_its_partner(tmp_path: Path) -> None:
    leaves = [leaf(tmp_path, name, rings(n, n)) for n, name in enumerate(("one", "again", "partner"))]
    answers = {
        frozenset({"one", "again"}): Met(0.99, True),
        frozenset({"one", "partner"}): Met(0.9, False),
        frozenset({"again", "partner"}): Met(0.93, False),
    }
    found = meet_all(leaves, Meetings(), Counting(answers))
    assert paired(leaves, found) == (
        Paired(0, 2, "a pair: the mirrored pictures match 0.93"),
        Paired(1, None, "the same leaf as one.jpg, photographed once more"),
    )


def test_the_partner_is_looked_for_again_once_two_photographs_are_known_to_be_one_leaf(
    tmp_path: Path,
) -> None:
    leaves = [leaf(tmp_path, name, rings(n, n)) for n, name in enumerate(("one", "again", "partner"))]
    asked: list[int] = []

    def compute(call: object, *given: object) -> object:
        if call is worth_meeting:
            (there,) = given
            asked.append(len(there))  # type: ignore[arg-type]
            return [(0, 1)]  # the likeliest partner hides the other
        return Met(0.99, True) if len(asked) == 1 else Met(0.9, False)

    found = meet_all(leaves, Meetings(), compute)
    assert asked == [3, 2]
    assert found.met[couple_of("look-one", "look-partner")] == Met(0.9, False)


def test_leaves_that_are_a_pair_by_name_are_looked_at_with_all_others_too(tmp_path: Path) -> None:
    leaves = [
        leaf(tmp_path, "x-a", rings(1, 11)),
        leaf(tmp_path, "x-b", rings(2, 12)),
        leaf(tmp_path, "IMG_7", rings(1, 13)),
    ]
    worth = worth_meeting([(one.name, one.path) for one in leaves])
    assert sorted(worth) == [(0, 1), (0, 2)]
    answers = {frozenset({"x-a", "x-b"}): Met(0.9, False), frozenset({"x-a", "IMG_7"}): Met(0.99, True)}
    found = meet_all(leaves, Meetings(), Counting(answers))
    pair, again = paired(leaves, found)
    assert (pair.a, pair.b) == (0, 1)
    assert again == Paired(2, None, "the same leaf as x-a.jpg, photographed once more")


def test_names_are_no_pair_where_both_show_one_leaf(tmp_path: Path) -> None:
    leaves = [leaf(tmp_path, name, rings(1, n)) for n, name in enumerate(("x-a", "x-b"))]
    known = Meetings(
        frozenset(one.look for one in leaves), {couple_of("look-x-a", "look-x-b"): Met(0.99, True)}
    )
    assert [one.b for one in paired(leaves, known)] == [None, None]
    strangers = Meetings(known.seen, {couple_of("look-x-a", "look-x-b"): Met(0.1, False)})
    (named,) = paired(leaves, strangers)
    assert named == Paired(0, 1, "a pair by name, though the pictures match only 0.10")


def test_equal_files_are_one_leaf_whatever_they_are_called(tmp_path: Path) -> None:
    leaves = [leaf(tmp_path, name, rings(1, 1), sha="equal") for name in ("x-a", "x-b")]
    counting = Counting()
    found = meet_all(leaves, Meetings(), counting)
    assert counting.met == []
    assert [one.says for one in paired(leaves, found)] == [ALONE, "the same photograph as x-a.jpg"]


def test_what_was_not_compared_yet_says_so(tmp_path: Path) -> None:
    leaves = [leaf(tmp_path, name, rings(n, n)) for n, name in enumerate("ab")]
    known = Meetings(frozenset({leaves[0].look}))
    assert [one.says for one in paired(leaves, known)] == [ALONE, MATCHING]


def test_it_is_kept_and_read_back_and_may_be_gone_or_spoilt(tmp_path: Path) -> None:
    made = Made(tmp_path / "made")
    assert meetings(made) == Meetings()
    found = Meetings(frozenset({"look-a", "look-b"}), {couple_of("look-b", "look-a"): Met(0.75, False)})
    keep_meetings(made, found)
    assert meetings(made) == found
    made.keep("matches.json", b'{"seen": 3}')
    assert meetings(made) == Meetings()


def test_a_look_that_is_gone_is_told(tmp_path: Path) -> None:
    one = leaf(tmp_path, "gone", rings(1, 1))
    one.path.unlink()
    with pytest.raises(Mistake, match="not kept any more"):
        worth_meeting([(one.name, one.path)])
