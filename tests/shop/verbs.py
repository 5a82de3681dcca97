"""Runs one verb as the command line does."""

from __future__ import annotations

from types import ModuleType

from seamlight.cli.main import OneLineParser


def run_verb(verb: ModuleType, argv: list[str]) -> None:
    """Parse and run; a `Mistake` goes on to the test."""
    parser = OneLineParser(prog="seamlight")
    verb.add_verb(parser.add_subparsers(required=True, parser_class=OneLineParser))
    args = parser.parse_args(argv)
    args.run(args)
