"""Registration: how leaf B's picture lies on leaf A's mirror, and whether the two are a pair at all."""

from __future__ import annotations

from dataclasses import replace

from seamlight.layout.figure import Figure, figure_of
from seamlight.layout.fit import Fit, fine_fit
from seamlight.layout.fixed import fixed_by
from seamlight.layout.lean import Lean
from seamlight.layout.match import detail_match, match_number
from seamlight.layout.pair import Registration
from seamlight.layout.search import Ground, Start, Way, starts
from seamlight.one_thread import one_blas_thread
from seamlight.photo.flat import FlatLeaf

PAIR_FROM = 0.7  # contracts: a match above this is a pair
NONE_BELOW = 0.4  # and below this there is none; between: ask

_GOOD = 0.85  # a fit this good need not be tried from elsewhere
_TRIES = 4
_NEAR_BEST = 0.75  # share of the best coarse score from which another start is tried
_HOPEFUL = 0.2  # a coarse score that strangers seldom reach
_PROMISING = 0.3  # a fit that strangers seldom reach
_ASIDE_MM = 20.0
_RIVAL = 0.6  # share of the best coarse score from which another way is worth a fine fit
_ALIKE = 0.02  # two ways whose matches differ by less can't be told apart
_SAME_FIGURE, _SAME_DETAIL = (
    0.95,
    0.8,
)  # rendered photographs of one face, seven woods, seeds 500 to 506: 0.966
# and 0.835 at least; a partner's other face reached one of the two, never both
_WAY_ORDER: tuple[Way, ...] = (("sawn", False), ("sawn", True), ("other", False), ("other", True))

NO_SLIDE = "straight grain, no marks: the figure doesn't say how far to slide"
NO_ACROSS = "rings so even that the figure doesn't say how far across leaf B lies"
SAME_LEAF = (
    "the two pictures show the same face of one leaf: not only its rings but its pores and marks agree, "
    "unmirrored; give the photograph of the other leaf"
)


def register(a: FlatLeaf, b: FlatLeaf) -> Registration:
    """How B's picture lies on A's mirror, by their figures; `Registration` says in what measure.

    All four ways B may lie are tried. `match` is the correlation of the two figures once B has been slid,
    turned and bent as little as rings that lean ask for; what the figure doesn't fix is None, with a warning.
    """
    return register_figures(figure_of(a), figure_of(b))


@one_blas_thread
def register_figures(a: Figure, b: Figure) -> Registration:
    """The same from figures already made."""
    found = starts(a, b)
    ground = Ground.of(a, b)
    ways = _worth_a_fit(found)
    fits = {way: _best_fit(a, ground, [s for s in found if s.way == way]) for way in ways}
    best = max(fit.likeness for fit in fits.values())
    alike = [way for way in _WAY_ORDER if way in fits and fits[way].likeness > best - _ALIKE]
    fit = fits[alike[0]]
    match = min(max(match_number(a.values(), fit.laid, fit.kept), 0.0), 1.0)
    if match < NONE_BELOW:
        return Registration(
            match, slide_mm=None, across_mm=None, rotate_deg=None, warnings=(_no_pair(match),)
        )
    found_here = replace(fit.registration, match=match)
    if found_here.b_shows == "other" and _is_same_face(a, fit):
        return replace(found_here, same_leaf=True, warnings=(SAME_LEAF,))
    return _with_words(found_here, fit, a, alike)


def _is_same_face(a: Figure, fit: Fit) -> bool:
    """Whether two pictures that agree unmirrored do so in all they show."""
    return fit.likeness > _SAME_FIGURE and detail_match(a.values(), fit.laid, fit.kept) > _SAME_DETAIL


def _worth_a_fit(found: list[Start]) -> list[Way]:
    """The likeliest way, and the next where it isn't far behind."""
    best: dict[Way, float] = {}
    for start in found:
        best[start.way] = max(best.get(start.way, 0.0), start.score)
    ways = sorted(best, key=lambda way: -best[way])[:2]
    return [way for way in ways if best[way] >= _RIVAL * best[ways[0]]]


def _best_fit(figure_a: Figure, ground: Ground, tries: list[Start]) -> Fit:
    """The best of several fine fits; stops at the first good one.

    Where none is good, the pith may lie under the leaf and a little aside: that is tried from the best.
    """
    from_start, best = tries[0], fine_fit(figure_a, ground, tries[0])

    def tried(start: Start) -> None:
        nonlocal from_start, best
        if best.likeness <= _GOOD:
            fit = fine_fit(figure_a, ground, start)
            if fit.likeness > best.likeness:
                from_start, best = start, fit

    for start in tries[1 : _TRIES if tries[0].score > _HOPEFUL else 2]:
        if start.score >= _NEAR_BEST * tries[0].score:
            tried(start)
    if best.likeness > _PROMISING:
        lean = from_start.lean
        for aside_mm in (-_ASIDE_MM, _ASIDE_MM):
            tried(replace(from_start, lean=Lean(lean.pith_mm + aside_mm, 0.75 * lean.spread_mm)))
    return best


def _with_words(found: Registration, fit: Fit, a: Figure, alike: list[Way]) -> Registration:
    """Leave out what the figure doesn't fix, and say what a maker should know."""
    says: list[str] = []
    if found.match < PAIR_FROM:
        says.append(f"match {found.match:.2f}: may be a pair or not; look at both leaves and say")
    if found.b_shows == "other":
        says.append(
            "leaf B matches unmirrored: it shows its other face (still a pair), unless it is leaf A again"
        )
    if found.b_turned:
        says.append("leaf B lay turned end for end in its picture")
    if len(alike) > 1:
        says.append(
            "straight grain: the figure doesn't say which way round leaf B lay; taken as " + _words(alike[0])
        )
    slide, across = fixed_by(a, fit)
    if not slide:
        says.append(NO_SLIDE)
    if not across:
        says.append(NO_ACROSS)
    return replace(
        found,
        slide_mm=found.slide_mm if slide else None,
        across_mm=found.across_mm if across else None,
        warnings=tuple(says),
    )


def _words(way: Way) -> str:
    shows, turned = way
    return f"{shows} face up" + (", turned end for end" if turned else ", the same end up as A")


def _no_pair(match: float) -> str:
    return (
        f"match {match:.2f}: the two figures don't agree; these leaves are no pair (flat-sawn leaves may "
        "disagree where one shows its other face: photograph both sawn faces)"
    )
