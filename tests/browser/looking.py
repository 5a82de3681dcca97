"""What every page is held to, looked at in a real browser."""

from __future__ import annotations

from typing import Any

from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Page

LEAST_TARGET_PX = 44
PRESSED = (
    "button, summary, select, input:not([type=hidden]), textarea, .action, nav a, .rows > li > a:only-child"
)


def assert_accessible(page: Page) -> None:
    """No serious or critical finding of axe-core (WCAG 2.1 A and AA, and its best practices)."""
    found: list[dict[str, Any]] = Axe().run(page)["violations"]
    grave = [
        f"{finding['id']}: {finding['help']}: {[node['target'] for node in finding['nodes']]}"
        for finding in found
        if finding["impact"] in ("serious", "critical")
    ]
    assert grave == [], "\n".join(grave)


def assert_fits(page: Page) -> None:
    """Nothing is wider than the window, so that nothing has to be pushed sideways."""
    wide = page.evaluate(
        """() => {
          const most = document.documentElement.clientWidth;
          if (document.documentElement.scrollWidth <= most) return [];
          return [...document.querySelectorAll("body *")]
            .filter((one) => one.getBoundingClientRect().right > most + 1)
            .map((one) => one.outerHTML.slice(0, 120));
        }"""
    )
    assert wide == [], "\n".join(wide)


def assert_pressable(page: Page) -> None:
    """Everything to press is at least 44 px high and wide; links inside a sentence are text."""
    small = page.evaluate(
        """([pressed, least]) => [...document.querySelectorAll(pressed)]
          .filter((one) => one.checkVisibility())
          .map((one) => [(one.closest("label") ?? one).getBoundingClientRect(), one])
          .filter(([box]) => box.width > 0 && Math.min(box.width, box.height) < least - 0.5)
          .map(([box, one]) => `${box.width} x ${box.height}: ${one.outerHTML.slice(0, 120)}`)
        """,
        [PRESSED, LEAST_TARGET_PX],
    )
    assert small == [], "\n".join(small)


def assert_good_page(page: Page) -> None:
    """All of the above."""
    assert_accessible(page)
    assert_fits(page)
    assert_pressable(page)
