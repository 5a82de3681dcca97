"""`seamlight tap` by its own parser: what is typed wrong is one line, before any file is opened."""

import argparse

import pytest

from seamlight.cli import tap
from seamlight.mistake import Mistake

LEAF = ["a.wav", "b.wav", "--size", "550x200x3.6", "--weight", "158"]


def run(*options: str) -> None:
    parser = argparse.ArgumentParser()
    tap.add_verb(parser.add_subparsers())
    args = parser.parse_args(["tap", *options])
    args.run(args)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--mode", "along"], "names no mode"),
        (["--mode", "squeak=100"], "names no mode"),
        (["--mode", "along=-3"], "names no mode"),
        (["--tapped", "0.5,0.9"], "1 places for 2 recordings"),
        (["--tapped", "0.5,0.9", "--tapped", "50,90"], "no place"),
        (["--tapped", "0.5,0.9", "--held", "0.5,0.5"], "give one of the two"),
        (["--weight", "752"], "density comes out 1,899"),
        (["--size", "550x200:150x3.6"], "tapers by"),
        (["--as", "bar"], "width of 200 mm"),
    ],
)
def test_mistakes_are_one_line(options: list[str], says: str) -> None:
    with pytest.raises(Mistake) as caught:
        run(*LEAF, *options)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
