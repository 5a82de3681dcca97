"""Every template and script of the house: nothing inline, no other host, every form with its token."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import seamlight.web
from seamlight.web.render import templates

WEB = Path(seamlight.web.__file__).parent
TEMPLATES = sorted((WEB / "pages").rglob("*.html"))
STATIC = sorted(path for path in (WEB / "static").rglob("*") if path.suffix in (".js", ".css", ".svg"))
NAMESPACE = re.compile(r"http://www\.w3\.org/\d{4}/\w+")


def named(path: Path) -> str:
    """As a failure shows it."""
    return str(path.relative_to(WEB))


@pytest.mark.parametrize("path", TEMPLATES, ids=named)
def test_a_template_can_be_read_and_holds_nothing_inline(path: Path) -> None:
    templates().get_template(str(path.relative_to(WEB / "pages")))
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\sstyle\s*=", text), "a style of its own: the policy refuses it"
    assert not re.search(r"<style\b", text)
    assert not re.search(r"\son[a-z]+\s*=\s*[\"']", text), "a handler inside the page"
    assert all("src=" in tag for tag in re.findall(r"<script\b[^>]*>", text) if "application/json" not in tag)
    assert "javascript:" not in text
    assert "| safe" not in text.replace("more | safe", ""), "only the field macro's own attributes"


@pytest.mark.parametrize("path", [*TEMPLATES, *STATIC], ids=named)
def test_nothing_is_taken_from_another_host(path: Path) -> None:
    text = NAMESPACE.sub("", path.read_text(encoding="utf-8"))
    assert not re.search(r"https?://", text)
    assert not re.search(r"(src|href|url\(|import)\s*=?\s*[\"'(]?//", text)


@pytest.mark.parametrize("path", TEMPLATES, ids=named)
def test_every_form_that_posts_carries_the_token(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    forms = re.findall(r"<form\b[^>]*method=\"post\"[^>]*>(.*?)</form>", text, re.DOTALL | re.IGNORECASE)
    for form in forms:
        assert "csrf_field()" in form or 'name="csrf"' in form, form[:200]
    assert len(re.findall(r"method=[\"']?post", text, re.IGNORECASE)) == len(forms)
