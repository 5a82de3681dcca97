"""Why the first opening ranks first although a lower one has more room."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from filed_pair import file_pair, laid
from jinja2 import Environment

from seamlight.layout.opening import Opening
from seamlight.shop.shop import Shop
from seamlight.web import filters
from seamlight.web.filters import add_filters
from seamlight.web.pair_facts import pair_page
from seamlight.web.pair_why import MORE_MM, first_because

FIT = ("fit", 30.0, "outline, seam and trims on sound wood of both leaves")
CLEAR = ("flaws", 40.0, "no flaw inside the outline")
OPEN = ("flaws", 0.0, "a flaw lies in the open")


def seam(degrees: float) -> tuple[str, float, str]:
    return ("grain at the seam", 20.0, f"{degrees} degrees to the joint within 20 mm of it, the worse leaf")


def tight(joint: int, edge: int, points: float) -> tuple[str, float, str]:
    words = f"{joint} lines per inch at the seam, {edge} at the edge"
    return ("tight wood at the seam", 0.001, f"{words} ({points} of 20)")


def even(percent: int, points: float) -> tuple[str, float, str]:
    return ("even spacing", 0.001, f"ring spacing varies by {percent} % over the plate ({points} of 15)")


@pytest.fixture
def base() -> Opening:
    """An opening that fits."""
    return next(one for one in laid("parlour", "top", False).openings if one.fits)


def test_the_part_that_decides_is_named(base: Opening) -> None:
    first = replace(base, spare_mm=1.8, parts=(FIT, CLEAR, seam(0.4), tight(20, 14, 12.3), even(9, 11.0)))
    level = replace(first, spare_mm=1.2)
    roomy = replace(base, spare_mm=19.8, parts=(FIT, CLEAR, seam(0.4), tight(14, 20, 7.7), even(8, 11.6)))
    said = first_because([first, level, roomy], "mm")
    assert said == (
        "Opening 1 ranks first for tighter wood at the seam (20 lines per inch at the seam, 14 at the edge; "
        "opening 3: 14 lines per inch at the seam, 20 at the edge); opening 3 has 18.0 mm more room. "
        "Room counts last, after flaws, grain at the seam and the wood itself."
    )


def test_grain_and_flaws_come_before_the_wood(base: Opening) -> None:
    first = replace(base, spare_mm=1.8, parts=(FIT, CLEAR, seam(0.4), tight(14, 20, 2.0)))
    grain = replace(base, spare_mm=9.0, parts=(FIT, CLEAR, seam(0.6), tight(20, 14, 18.0)))
    flawed = replace(base, spare_mm=9.0, parts=(FIT, OPEN, seam(0.1), tight(20, 14, 18.0)))
    assert "truer to the joint at the seam (0.4 degrees against 0.6)" in first_because([first, grain], "mm")
    said = first_because([first, flawed], "mm")
    assert "where the flaws fall (no flaw inside the outline; opening 2: a flaw lies in the open)" in said
    assert "7.2 mm more room" in said


def test_words_of_the_parts_follow_the_unit(base: Opening) -> None:
    def planed(mm: float, points: float) -> tuple[str, float, str]:
        return ("little planed away", 0.001, f"{mm} mm at most off a joint edge ({points} of 10)")

    first = replace(base, spare_mm=1.8, parts=(FIT, CLEAR, seam(0.4), planed(12.7, 8.0)))
    roomy = replace(base, spare_mm=19.8, parts=(FIT, CLEAR, seam(0.4), planed(25.4, 2.0)))
    said = first_because([first, roomy], "inch")
    assert "(1/2 in at most off a joint edge; opening 2: 1 in at most off a joint edge)" in said
    assert "(12.7 mm at most off a joint edge; opening 2: 25.4 mm" in first_because([first, roomy], "mm")
    # the seam's own "within 20 mm of it" is told in neither
    grain = replace(roomy, parts=(FIT, CLEAR, seam(0.6), planed(25.4, 2.0)))
    assert " mm" not in first_because([first, grain], "inch").replace("(18.0 mm)", "")


def test_what_can_be_done_follows_the_unit() -> None:
    pages = Environment(autoescape=True)
    add_filters(pages)
    page = pages.from_string("{{ text | said }}")
    text = "two wings at least 19 mm wide"
    assert page.render(text=text, unit="inch") == "two wings at least 3/4 in wide"
    assert page.render(text=text, unit="mm") == text
    desk = Path(filters.__file__).parent / "pages" / "pair_desk.html"
    assert "one.text | said" in desk.read_text(encoding="utf-8")


def test_more_room_that_does_not_fit_is_said_so(base: Opening) -> None:
    first = replace(base, spare_mm=1.8, parts=(FIT, CLEAR, seam(0.4)))
    parts = (("fit", 20.0, "short"),)
    short = replace(base, spare_mm=9.0, end_spare_mm=-4.0, fits=False, marginal=False, parts=parts)
    assert first_because([first, short], "mm") == (
        "Opening 1 ranks first because it fits; opening 2 has 7.2 mm more room beside the outline, "
        "but it is short by 4.0 mm at the ends."
    )


def test_nothing_is_said_where_the_first_has_the_most_room(base: Opening) -> None:
    assert first_because([], "mm") == ""
    assert first_because([base], "mm") == ""
    assert first_because([base, replace(base, spare_mm=base.spare_mm - 3)], "mm") == ""
    assert first_because([base, replace(base, spare_mm=base.spare_mm + 0.1)], "mm") == ""


def test_what_reads_alike_is_told_by_its_points(base: Opening) -> None:
    words = "within 0.4 degrees of the centre line (root mean square)"
    first, roomy = (
        replace(base, spare_mm=spare, parts=(FIT, ("grain over the plate", 0.0, f"{words} ({points} of 30)")))
        for spare, points in ((2.0, 27.9), (6.0, 27.6))
    )
    said = first_because([first, roomy], "mm")
    assert "for a little straighter grain over the plate (27.9 of its points against 27.6)" in said


def test_the_page_says_what_its_own_openings_ask_for(shop: Shop) -> None:
    """Beside a real search: the sentence stands just where a lower opening has more room."""
    for outline in ("parlour", "concert"):
        pair = file_pair(shop, outline=outline, others=True)
        with shop.read() as session:
            shown = pair_page(shop, session, pair.id, None, "mm")
        spares = [card.found.opening.spare_mm for card in shown.cards]
        roomier = any(spare > spares[0] + MORE_MM for spare in spares[1:])
        assert bool(shown.first_because) == roomier
