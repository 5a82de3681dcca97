"""How much an SVG file holds once its copies are drawn; counted before anything is made of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError, iterparse

from seamlight.mistake import Mistake
from seamlight.outline.bounds import MOST_ELEMENTS, MOST_POINTS, too_much

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_LINES = ("d", "points")  # attributes that hold coordinates
_HREF = ("href", "{http://www.w3.org/1999/xlink}href")
_Size = tuple[int, int]  # elements, points


def check_svg_size(path: Path) -> None:
    """Refuse a drawing that would grow beyond what any outline needs.

    A copy (`use`) counts as often as it is drawn, and copies of copies multiply.

    Raises:
        Mistake: too many elements or points, a copy that holds itself, or no XML.
    """
    named: dict[str, Element] = {}
    root, count = None, 0
    try:
        for _, element in iterparse(path, events=("start",)):
            root = element if root is None else root
            count += 1
            if count > MOST_ELEMENTS:
                raise too_much(path.name, f"more than {MOST_ELEMENTS:,} elements")
            if "id" in element.attrib:
                named[element.attrib["id"]] = element
    except ParseError as error:
        raise Mistake(
            "is no SVG file that can be read", where=path.name, do="save it again as plain SVG"
        ) from error
    if root is None:
        return
    elements, points = _grown(root, named, path.name)
    if elements > MOST_ELEMENTS:
        raise too_much(path.name, f"more than {MOST_ELEMENTS:,} elements once its copies are drawn")
    if points > MOST_POINTS:
        raise too_much(path.name, f"more than {MOST_POINTS:,} points")


def _grown(root: Element, named: dict[str, Element], where: str) -> _Size:
    """Elements and points of a drawing with every copy drawn; each element is counted once."""
    sizes: dict[Element, _Size] = {}
    open_: dict[Element, Iterator[Element]] = {root: _inside(root, named)}
    while open_:
        element, inside = next(reversed(open_.items()))
        part = next(inside, None)
        if part is None:
            del open_[element]
            parts = [sizes[one] for one in _inside(element, named)]
            sizes[element] = (
                min(1 + sum(size[0] for size in parts), MOST_ELEMENTS + 1),
                min(_points(element) + sum(size[1] for size in parts), MOST_POINTS + 1),
            )
        elif part in open_:
            raise Mistake(
                "holds a copy of itself", where=where, do="save it again as plain SVG, copies made into paths"
            )
        elif part not in sizes:
            open_[part] = _inside(part, named)
    return sizes[root]


def _inside(element: Element, named: dict[str, Element]) -> Iterator[Element]:
    """What is drawn with an element: its children, and what it is a copy of."""
    yield from element
    if element.tag.rpartition("}")[2] == "use":
        links = [element.attrib[name] for name in _HREF if name in element.attrib]
        if links and links[0][1:] in named:
            yield named[links[0][1:]]


def _points(element: Element) -> int:
    """Points in an element's coordinates, two numbers each."""
    return sum(1 for name in _LINES for _ in _NUMBER.finditer(element.attrib.get(name, ""))) // 2
