"""Nothing a person can ask for stands undocumented: every verb, every sheet, every environment variable."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from seamlight.cli.main import build_parser

ROOT = Path(__file__).resolve().parents[2]
DOCS = "\n".join(
    path.read_text(encoding="utf-8") for path in (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
)


def choices(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """The verbs or kinds that a parser knows."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


VERBS = choices(build_parser())


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_every_verb_is_in_the_docs(verb: str) -> None:
    assert re.search(rf"(seamlight |`){verb}\b", DOCS)


@pytest.mark.parametrize("kind", sorted(choices(VERBS["sheet"])))
def test_every_sheet_is_in_the_docs(kind: str) -> None:
    assert f"sheet {kind}" in DOCS


def test_every_environment_variable_is_in_the_docs() -> None:
    source = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "src").rglob("*.py"))
    named = set(re.findall(r"\bSEAMLIGHT_[A-Z]+\b", source))
    assert {"SEAMLIGHT_SHOP", "SEAMLIGHT_DATABASE"} <= named
    assert sorted(name for name in named if name not in DOCS) == []


def test_every_option_says_what_it_does() -> None:
    silent = [
        f"{verb} {action.option_strings or action.dest}"
        for verb, parser in VERBS.items()
        for action in parser._actions
        if action.option_strings and not action.help and not action.choices
    ]
    assert silent == []
