"""The looking itself: a bad page is found to be bad."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from looking import assert_accessible, assert_fits, assert_good_page, assert_pressable
from playwright.sync_api import Page

HEAD = '<!doctype html><html lang="en"><title>t</title><meta name="viewport" content="width=device-width">'
GOOD = "<main><h1>Good</h1><button style='min-width:48px;min-height:48px'>Press</button></main>"


@pytest.fixture
def blank(window: Callable[..., Page]) -> Page:
    """A window with nothing in it."""
    return window({"width": 390, "height": 844})


def test_a_good_page_passes(blank: Page) -> None:
    blank.set_content(HEAD + GOOD)
    assert_good_page(blank)


@pytest.mark.parametrize(
    "bad",
    [
        "<p style='color:#bbb;background:#fff'>faint</p>",
        "<img src='data:,' >",
        "<input type='text'>",
        "<button></button>",
    ],
)
def test_what_cannot_be_read_is_found(blank: Page, bad: str) -> None:
    blank.set_content(f"{HEAD}<main><h1>Bad</h1>{bad}</main>")
    with pytest.raises(AssertionError):
        assert_accessible(blank)


def test_what_is_too_wide_is_found(blank: Page) -> None:
    blank.set_content(f"{HEAD}<main><h1>Bad</h1><div style='width:500px'>wide</div></main>")
    with pytest.raises(AssertionError):
        assert_fits(blank)


def test_what_is_too_small_to_press_is_found(blank: Page) -> None:
    blank.set_content(f"{HEAD}<main><h1>Bad</h1><button style='height:30px;width:90px'>Press</button></main>")
    with pytest.raises(AssertionError):
        assert_pressable(blank)
