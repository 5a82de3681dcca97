"""Drawings that would grow beyond what any outline needs: told in one line, before they are made."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest

from seamlight.mistake import Mistake
from seamlight.outline.dxf import read_dxf
from seamlight.outline.svg import read_svg

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="900mm" viewBox="0 0 600 900">'


def svg(tmp_path: Path, inside: str) -> Path:
    path = tmp_path / "drawn.svg"
    path.write_text(f"{HEAD}{inside}</svg>")
    return path


def test_copies_of_copies_multiply(tmp_path: Path) -> None:
    nest = '<path id="a0" d="M0 0L1 1"/>'
    for level in range(1, 8):
        copies = f'<use href="#a{level - 1}"/>' * 10
        nest += f'<g id="a{level}">{copies}</g>'
    path = svg(tmp_path, f'<defs>{nest}</defs><use href="#a7"/>')
    assert path.stat().st_size < 1600
    with pytest.raises(Mistake, match=r"more than 20,000 elements once its copies are drawn; save the"):
        read_svg(path)


def test_a_few_copies_are_drawn(tmp_path: Path) -> None:
    path = svg(tmp_path, '<path id="one" d="M0 0L10 10"/><use href="#one" x="5"/><use href="#gone"/>')
    assert len(read_svg(path).lines) == 2


@pytest.mark.parametrize(
    "inside",
    [
        '<g id="a"><use href="#a"/></g>',
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        '<g id="a" xmlns:x="http://www.w3.org/1999/xlink"><use x:href="#a"/></g>',
    ],
)
def test_a_copy_that_holds_itself_is_told(tmp_path: Path, inside: str) -> None:
    with pytest.raises(Mistake, match="a copy of itself"):
        read_svg(svg(tmp_path, inside))


@pytest.mark.parametrize("attribute", ["path d='M{}'", "polyline points='{}'"])
def test_a_line_of_too_many_points_is_told(tmp_path: Path, attribute: str) -> None:
    points = " ".join(f"{n % 300} {n / 300:.1f}" for n in range(150_000))
    with pytest.raises(Mistake, match=r"more than 50,000 points"):
        read_svg(svg(tmp_path, f"<{attribute.format(points)}/>"))


def test_the_points_of_a_copied_line_count_each_time(tmp_path: Path) -> None:
    points = " ".join(f"{n % 30} {n / 30:.1f}" for n in range(6000))
    copies = '<use href="#line"/>' * 9
    with pytest.raises(Mistake, match=r"more than 50,000 points"):
        read_svg(svg(tmp_path, f'<polyline id="line" points="{points}"/>{copies}'))


def test_thousands_of_bare_elements_are_told(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match=r"more than 20,000 elements"):
        read_svg(svg(tmp_path, "<g/>" * 20_001))


def test_what_is_no_svg_is_told(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="no SVG file that can be read"):
        read_svg(svg(tmp_path, "<g>"))


def test_blocks_of_blocks_multiply(tmp_path: Path) -> None:
    document = ezdxf.new()
    document.blocks.new("B0").add_line((0, 0), (1, 1))
    for level in range(1, 5):
        block = document.blocks.new(f"B{level}")
        for place in range(30):
            block.add_blockref(f"B{level - 1}", (place, place))
    document.modelspace().add_blockref("B4", (0, 0))
    path = tmp_path / "drawn.dxf"
    document.saveas(path)
    with pytest.raises(Mistake, match=r"more than 20,000 lines"):
        read_dxf(path)


def test_blocks_of_nothing_multiply_too(tmp_path: Path) -> None:
    document = ezdxf.new()
    document.blocks.new("B0")
    for level in range(1, 5):
        block = document.blocks.new(f"B{level}")
        for place in range(30):
            block.add_blockref(f"B{level - 1}", (place, place))
    document.modelspace().add_blockref("B4", (0, 0))
    path = tmp_path / "drawn.dxf"
    document.saveas(path)
    with pytest.raises(Mistake, match=r"more than 20,000 lines"):
        read_dxf(path)
