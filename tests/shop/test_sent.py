"""A form is remembered in the change it asked for: with it or not at all, and never twice."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from sqlalchemy import select

from seamlight.mistake import Mistake
from seamlight.shop import Shop
from seamlight.shop.sent import Sending, SentBefore, remember_answer, sending
from seamlight.shop.tables import Pair, Sent
from seamlight.shop.wood import new_pair


@pytest.fixture(autouse=True)
def nothing_on_its_way() -> Iterator[None]:
    yield
    sending.set(None)


def send(shop: Shop, number: str, kind: str) -> Sending:
    asked = Sending.of(number, "/wood/new", [("kind", kind)])
    sending.set(asked)
    with shop.change("owner") as change:
        new_pair(change, kind=kind)
    return asked


def kinds(shop: Shop) -> list[str]:
    with shop.read() as session:
        return list(session.scalars(select(Pair.kind).order_by(Pair.id)))


def test_the_second_sending_changes_nothing_and_knows_the_answer(shop: Shop) -> None:
    asked = send(shop, "first", "top")
    with shop.change("owner") as change:
        remember_answer(change, asked, "/wood/pairs/1")
    with pytest.raises(SentBefore) as before:
        send(shop, "first", "top")
    assert before.value.address == "/wood/pairs/1"
    assert kinds(shop) == ["top"]


def test_a_change_that_failed_is_not_remembered(shop: Shop) -> None:
    with pytest.raises(Mistake):
        send(shop, "first", "no kind")
    with shop.read() as session:
        assert session.scalars(select(Sent)).all() == []
    assert not send(shop, "first", "top").other


def test_one_request_may_change_twice(shop: Shop) -> None:
    send(shop, "first", "top")
    with shop.change("owner") as change:
        new_pair(change, kind="back")
    assert kinds(shop) == ["top", "back"]


def test_the_same_form_with_other_fields_is_another_and_says_so(shop: Shop) -> None:
    assert not send(shop, "first", "top").other
    assert send(shop, "first", "back").other
    assert not send(shop, "second", "top").other
    assert kinds(shop) == ["top", "back", "top"]
