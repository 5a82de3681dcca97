"""Shop, Outlines: the ticked ones, a drawing of one's own, full-size sheets."""

from __future__ import annotations

import io

import ezdxf
import numpy as np
import pytest
from asking import Browser
from fastapi import FastAPI

from seamlight.outline import named
from seamlight.shop.outlines import built, outline, own_outlines, read_drawing
from seamlight.shop.shop import Shop
from seamlight.web.outline_pages import BOUNDS
from seamlight.web.side_process import Failed, SideProcess, TooMuch


def drawing() -> bytes:
    """The parlour as somebody's own DXF in mm, a little longer."""
    half = np.asarray(named("parlour").half_mm) * (1.0, 1.02)
    ring = np.vstack([half, half[::-1] * (-1.0, 1.0)])
    document = ezdxf.new()
    document.units = ezdxf.units.MM
    document.modelspace().add_lwpolyline(ring, close=True)
    held = io.StringIO()
    document.write(held)
    return held.getvalue().encode()


def test_the_ticks_say_what_pairs_are_laid_out_for(owner: Browser, shop: Shop) -> None:
    answer = owner.press("/shop/outlines/built", built=["parlour", "jumbo"])
    assert answer.status_code == 303
    with shop.read() as session:
        assert built(session) == ("parlour", "jumbo")
    none = owner.press("/shop/outlines/built")
    assert none.status_code == 422
    with shop.read() as session:
        assert built(session) == ("parlour", "jumbo")


def test_a_drawing_of_ones_own_is_an_outline_like_any_other(owner: Browser, shop: Shop) -> None:
    answer = owner.press("/shop/outlines", files={"drawing": ("mine.dxf", drawing())}, name="old mould")
    assert answer.status_code == 303, answer.text
    with shop.read() as session:
        mine = outline(session, shop.files, "old mould")
    assert mine.length_mm == pytest.approx(named("parlour").length_mm * 1.02, abs=0.2)
    assert "old mould" in owner.get("/shop/outlines").text
    for kind, begins in (("pdf", b"%PDF"), ("svg", b"<?xml"), ("dxf", b"  0")):
        sheet = owner.get(f"/shop/outlines/sheet?name=old mould&kind={kind}")
        assert sheet.status_code == 200
        assert sheet.content.startswith(begins)


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [("mine.doc", b"x", "is no drawing"), ("mine.dxf", b"x", "mine"), ("jumbo.dxf", None, "generic size")],
)
def test_what_is_no_drawing_is_refused(
    owner: Browser, shop: Shop, name: str, data: bytes | None, says: str
) -> None:
    given = drawing() if data is None else data
    answer = owner.press("/shop/outlines", files={"drawing": (name, given)})
    assert answer.status_code == 422
    if says != "mine":
        assert says in answer.text


def swollen() -> bytes:
    """1.5 kB that would be ten million elements: seven levels of ten copies."""
    nest = '<path id="a0" d="M0 0L1 1"/>'
    for level in range(1, 8):
        nest += f'<g id="a{level}">' + f'<use href="#a{level - 1}"/>' * 10 + "</g>"
    return f'<svg xmlns="http://www.w3.org/2000/svg"><defs>{nest}</defs><use href="#a7"/></svg>'.encode()


def test_a_drawing_that_swells_is_told_and_not_kept(owner: Browser, shop: Shop) -> None:
    answer = owner.press("/shop/outlines", files={"drawing": ("mine.svg", swollen())})
    assert answer.status_code == 422
    assert "more than 20,000 elements once its copies are drawn" in answer.text
    with shop.read() as session:
        assert own_outlines(session) == {}


@pytest.mark.parametrize("trouble", [TooMuch("took more than 40 seconds"), Failed("the process died")])
def test_a_drawing_is_read_beside_the_server_within_bounds(
    owner: Browser, app: FastAPI, monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    asked = []

    def run(self: SideProcess, call: object, *given: object, **more: object) -> None:
        asked.append((call, more["bounds"]))
        raise trouble

    monkeypatch.setattr(SideProcess, "run", run)
    app.state.aside = SideProcess()
    answer = owner.press("/shop/outlines", files={"drawing": ("mine.dxf", drawing())})
    assert answer.status_code == 422
    assert "export the outline alone" in answer.text
    ((call, bounds),) = asked
    assert call is read_drawing
    assert bounds == BOUNDS
