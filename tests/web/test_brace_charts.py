"""A brace and the outline's plate as files to take away."""

from __future__ import annotations

import html
import re

from asking import Browser

from plate_taps import TYPED, leaf_wav
from seamlight.shop.shop import Shop
from seamlight.shop.wood import new_pair

BRACE = {"e": "12", "density": "420", "brace_width": "8", "brace_length": "400", "wanted": "13.824"}
START = {"png": b"\x89PNG", "svg": b"<?xml"}


def filed(shop: Shop, kind: str) -> int:
    with shop.change("owner") as change:
        return new_pair(change, kind=kind, species_common="Sitka spruce").id


def linked(owner: Browser, page: str, stem: str) -> None:
    """Both files behind a page's links are what they say."""
    for form, start in START.items():
        found = re.search(rf'href="([^"]*{stem}\.{form}[^"]*)" download', owner.get(page).text)
        assert found is not None
        file = owner.get(html.unescape(found[1]))
        assert file.status_code == 200, file.text
        assert file.content.startswith(start)
        assert len(file.content) > 5_000


def test_a_brace_as_a_file(owner: Browser, shop: Shop) -> None:
    here = f"/wood/pairs/{filed(shop, 'brace stock')}/brace"
    assert owner.get(f"{here}.png").status_code == 404
    assert owner.press(here, **BRACE, taper="60", end_height="3").status_code == 303
    linked(owner, here, "brace")


def test_a_brace_of_no_pair_as_a_file(owner: Browser) -> None:
    shown = owner.press("/bench/brace", **BRACE).text
    found = re.search(r'name="document_text" value="([^"]+)"', shown)
    assert found is not None
    for form, start in START.items():
        file = owner.press("/bench/brace/drawing", form=form, document_text=html.unescape(found[1]))
        assert file.content.startswith(start)
    assert owner.press("/bench/brace/drawing", form="png", document_text="{}").status_code == 422


def test_the_outlines_modes_as_a_file(owner: Browser, shop: Shop) -> None:
    here = f"/wood/pairs/{filed(shop, 'top')}/plate"
    wav = ("recordings", ("six taps.wav", leaf_wav(), "audio/wav"))
    assert owner.get(f"{here}/outline.png?outline=parlour").status_code == 422
    assert owner.press(f"{here}/taps", files=[wav], **TYPED).status_code == 303
    linked(owner, f"{here}/outline?outline=parlour&thickness=2.8", "outline")
