"""The `seamlight` command: its verbs, its exit codes, its one-line errors."""

from __future__ import annotations

import argparse
import os
import sys
import traceback
from collections.abc import Sequence
from typing import NoReturn

from seamlight import __version__
from seamlight.cli import (
    air,
    backup,
    check,
    deflect,
    demo,
    edge,
    layout,
    rack,
    read,
    restore,
    schema,
    seam,
    serve,
    sheet,
    tap,
    tone,
)
from seamlight.mistake import Mistake

VERBS = (
    read,
    tone,
    layout,
    rack,
    sheet,
    seam,
    edge,
    air,
    tap,
    deflect,
    serve,
    check,
    backup,
    restore,
    demo,
    schema,
)
DONE, OURS, YOURS, STOPPED = 0, 1, 2, 130


class OneLineParser(argparse.ArgumentParser):
    """A parser whose complaints are one line, like every other mistake."""

    def error(self, message: str) -> NoReturn:
        """Raise instead of printing the whole usage.

        Raises:
            Mistake: always.
        """
        raise Mistake(message, where=self.prog, do=f"see: {self.prog} --help")


def build_parser() -> argparse.ArgumentParser:
    """The parser with every verb."""
    parser = OneLineParser(
        prog="seamlight",
        description="The bench companion of a small acoustic-guitar workshop.",
        epilog="Every verb says more with --help.",
    )
    parser.add_argument("--version", action="version", version=f"seamlight {__version__}")
    verbs = parser.add_subparsers(metavar="VERB", required=True, parser_class=OneLineParser)
    for verb in VERBS:
        verb.add_verb(verbs)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns:
        0: done; 1: a fault of ours; 2: the input or the arguments are wrong (one line on stderr);
        130: stopped.
    """
    try:
        args = build_parser().parse_args(argv)
        args.run(args)
        sys.stdout.flush()
    except Mistake as mistake:
        print(mistake, file=sys.stderr)
        return YOURS
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as error:
        if os.environ.get("SEAMLIGHT_TRACE"):
            traceback.print_exc()
        print(
            f"seamlight failed: {type(error).__name__}: {' '.join(str(error).split())}; this is a fault"
            " of the program, not of your input (SEAMLIGHT_TRACE=1 shows where)",
            file=sys.stderr,
        )
        return OURS
    return DONE
