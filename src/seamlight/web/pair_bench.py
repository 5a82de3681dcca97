"""Everything a pair's page and its picture work on: wood, outline, openings, the choice, judged now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from sqlalchemy.orm import Session

from seamlight.document import point_list
from seamlight.layout.by_hand import HandPlacing, body_of, place_by_hand, placing_by_hand
from seamlight.layout.by_hand_document import ROUNDED_MM, HandPlacingPart, opening_of_part
from seamlight.layout.document import OpeningPart
from seamlight.layout.opening import LayoutSettings, Opening
from seamlight.layout.side import size_of
from seamlight.layout.sound import all_flaws
from seamlight.mistake import Mistake
from seamlight.outline.shape import Outline
from seamlight.shop import wood as wood_rows
from seamlight.shop.choices import choice
from seamlight.shop.figures import outline_of
from seamlight.shop.laying_out import same_search, settings_for, settings_of
from seamlight.shop.made_on import elsewhere
from seamlight.shop.outlines import built, outline_names
from seamlight.shop.pair_wood import PairWood, layout_reading, pair_wood, shape
from seamlight.shop.readings import readings
from seamlight.shop.shop import Shop
from seamlight.shop.tables import Choice, Pair, Reading

Use = Literal["top", "back"]


@dataclass(frozen=True, eq=False)
class Found:
    """One opening that the search found, judged with the flaws as they are now."""

    number: int  # from 1, in the layout's order
    placing: HandPlacing
    opening: Opening


@dataclass(frozen=True, eq=False)
class Bench:
    """A pair laid ready. `placing` is the choice, or the best where nothing was chosen."""

    pair: Pair
    use: Use
    wood: PairWood
    outline: Outline
    settings: LayoutSettings
    layout: Reading | None  # None: this outline was not searched yet
    stale: bool  # what was said about flaws is newer than the search
    found: tuple[Found, ...]
    choice: Choice | None
    placing: HandPlacing
    outlines: tuple[str, ...]
    choice_elsewhere: bool = False  # it was chosen on other pictures of the leaves than those read last

    @property
    def chosen(self) -> bool:
        """Whether what is laid is the choice that is kept."""
        return (
            self.choice is not None
            and not self.choice_elsewhere
            and self.choice.outline.get("name") == self.outline.name
        )

    @property
    def body(self) -> Outline:
        """The plan shape as it is judged and drawn: of the back where it is one."""
        return body_of(self.outline, self.use)

    def judge(self, placing: HandPlacing) -> Opening:
        """The opening of exactly this placing, with the search's remedies where it is the search's own."""
        wood = self.wood
        opening = place_by_hand(wood.a, wood.b, wood.registration, self.outline, self.settings, placing)
        found = next((one for one in self.found if one.placing == placing), None)
        return opening if found is None else replace(opening, remedies=found.opening.remedies)


@dataclass(frozen=True, eq=False)
class Judging:
    """What one judgement rests on; less than a whole bench, so that an answer comes while a finger moves."""

    pair: Pair
    wood: PairWood
    outline: Outline
    settings: LayoutSettings

    def judge(self, placing: HandPlacing) -> Opening:
        """The opening of exactly this placing."""
        wood = self.wood
        return place_by_hand(wood.a, wood.b, wood.registration, self.outline, self.settings, placing)


def judging(shop: Shop, session: Session, pair_id: int, outline_name: str) -> Judging:
    """What a judgement of a pair rests on.

    Raises:
        Mistake: no such pair or outline, or the pair has to be read first.
    """
    pair = wood_rows.pair(session, pair_id)
    use = use_of(pair)
    wood = pair_wood(shop, session, pair_id) if use else None
    if use is None or wood is None:
        raise Mistake("is not read yet", where=f"pair {pair.label}", do="have its photographs read first")
    chosen = choice(session, pair_id)
    settings = _settings(session, pair_id, use, chosen)
    return Judging(pair, wood, shape(shop, session, outline_name), settings)


def use_of(pair: Pair) -> Use | None:
    """What a pair is laid out for; None for wood that is neither top nor back."""
    return "top" if pair.kind == "top" else "back" if pair.kind == "back" else None


def bench(shop: Shop, session: Session, pair_id: int, outline_name: str | None = None) -> Bench | None:
    """The bench of a pair; None where there is nothing to lay out: other wood, or not read.

    Args:
        outline_name: another outline than the chosen one.

    Raises:
        Mistake: no such pair or outline.
    """
    pair = wood_rows.pair(session, pair_id, deleted=True)
    use = use_of(pair)
    wood = pair_wood(shop, session, pair_id) if use else None
    if use is None or wood is None:
        return None
    chosen = choice(session, pair_id)
    names = outline_names(session)
    name = outline_name or _first_outline(session, pair_id, chosen, names)
    if name not in names:
        raise Mistake(f"there is no outline {name}", where="outline", do=f"choose from {', '.join(names)}")
    outline = shape(shop, session, name)
    layout = layout_reading(session, pair_id, name)
    moved = chosen is not None and elsewhere(chosen.made_on, wood.pictures)
    same = chosen is not None and not moved and chosen.outline.get("name") == name
    settings = _settings(session, pair_id, use, chosen)
    searched = layout if layout is not None and _searched_so(layout, settings) else None
    stale = searched is not None and _said_since(searched, wood)
    found = _found(searched, wood, outline, settings, stale) if searched is not None else ()
    if same and chosen is not None and chosen.placing is not None:
        placing = HandPlacingPart.model_validate(chosen.placing).placing()
    elif same and chosen is not None:
        placing = _placing_of(OpeningPart.model_validate(chosen.document), wood, outline, settings)
    elif found:
        placing = found[0].placing
    else:
        placing = _carried(shop, session, None if moved else chosen, wood, outline, settings)
    return Bench(pair, use, wood, outline, settings, searched, stale, found, chosen, placing, names, moved)


def _first_outline(session: Session, pair_id: int, chosen: Choice | None, names: tuple[str, ...]) -> str:
    """The chosen outline, else the one whose best opening is best, else the first that the shop builds."""
    if chosen is not None and chosen.outline.get("name") in names:
        return str(chosen.outline["name"])
    best: dict[str, float] = {}
    for row in readings(session, pair_id=pair_id, verb="layout"):
        openings = row.document.get("openings") or [{}]
        best[outline_of(row)] = float(openings[0].get("score") or 0.0)
    known = [name for name in best if name in names]
    return max(known, key=lambda name: best[name]) if known else next(iter(built(session)), names[0])


def _searched_so(layout: Reading, settings: LayoutSettings) -> bool:
    """Whether a layout was searched with these settings; what it does not say was as the contract has it."""
    said = layout.says.get("settings") or {}
    searched = settings_of({**said, "use": layout.says.get("use", settings.use)}, settings.use)
    return same_search(searched, settings)


def _settings(session: Session, pair_id: int, use: Use, chosen: Choice | None) -> LayoutSettings:
    """What the choice was judged with; without one, what the pair is laid out with."""
    if chosen is not None and chosen.settings:
        return settings_of(chosen.settings, use)
    return settings_for(session, pair_id, use)


def _said_since(layout: Reading, wood: PairWood) -> bool:
    """Whether the flaws are others than those that the layout was searched with."""
    for leaf, name in ((wood.a, "a"), (wood.b, "b")):
        searched = layout.document.get("flaws", {}).get(name, [])
        now = [(flaw.kind, [list(p) for p in point_list(flaw.outline_mm)]) for flaw in all_flaws(leaf)]
        if now != [(one["kind"], [list(p) for p in one["outline_mm"]]) for one in searched]:
            return True
    return False


def _found(
    layout: Reading, wood: PairWood, outline: Outline, settings: LayoutSettings, stale: bool
) -> tuple[Found, ...]:
    parts = [OpeningPart.model_validate(part) for part in layout.document.get("openings", [])]
    shown = []
    for number, part in enumerate(parts, 1):
        placing = _placing_of(part, wood, outline, settings)
        kept = opening_of_part(part)
        if stale:
            now = place_by_hand(wood.a, wood.b, wood.registration, outline, settings, placing)
            kept = replace(now, remedies=kept.remedies)
        shown.append(Found(number, placing, kept))
    return tuple(shown)


def _placing_of(part: OpeningPart, wood: PairWood, outline: Outline, settings: LayoutSettings) -> HandPlacing:
    opening = opening_of_part(part)
    return placing_by_hand(opening, wood.a, wood.b, wood.registration, outline, settings, hair_mm=ROUNDED_MM)


def _carried(
    shop: Shop,
    session: Session,
    chosen: Choice | None,
    wood: PairWood,
    outline: Outline,
    settings: LayoutSettings,
) -> HandPlacing:
    """Where nothing was searched: the chosen joint, the body's middle where it was; else a plain start."""
    if chosen is not None and chosen.placing is not None:
        placing = HandPlacingPart.model_validate(chosen.placing).placing()
        before = shape(shop, session, str(chosen.outline.get("name")))
        return replace(placing, shift_mm=placing.shift_mm + (before.length_mm - outline.length_mm) / 2)
    width, _ = size_of(wood.a)
    return HandPlacing(
        joint_edge="right",
        neck_end=1,
        show_face="sawn",
        tilt_deg=0.0,
        offset_mm=-width / 2 + settings.joint_mm,
        shift_mm=-outline.length_mm / 2,
        slide_mm=wood.registration.slide_mm or 0.0,
    )
