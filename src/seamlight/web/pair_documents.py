"""The JSON documents of a pair in work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from pydantic import Field

from seamlight.document import Document, Part, PointList, point_list
from seamlight.grain.flaw import Flaw, FlawKind
from seamlight.layout.by_hand import HandPlacing
from seamlight.layout.by_hand_document import HandPlacingPart, JudgeDocument
from seamlight.layout.document import OpeningPart
from seamlight.layout.hand_facts import HandFactsPart
from seamlight.layout.opening import Edge, Face, LayoutSettings, Opening
from seamlight.layout.sound import COUNTS_FROM
from seamlight.sheets.words import verdict, verdict_sentence
from seamlight.shop.flaw_edits import FaceName
from seamlight.shop.pair_wood import LeafName, PairWood
from seamlight.shop.taking_in import flat_key
from seamlight.units import Unit
from seamlight.web.pair_bench import Bench


class SaidFlaw(Part):
    """A flaw as it is now, in its leaf's own frame.

    `found` counts the flaws of its face as read, `added` those drawn on it.
    """

    kind: FlawKind
    outline_mm: PointList
    sure: float
    counts: bool
    found: int | None
    added: int | None
    other_face: bool


class ReadingUnderWay(Part):
    """Whether work on a pair is under way, and how the newest piece of it stands."""

    live: bool
    state: Literal["none", "waiting", "running", "done", "failed", "stopped"]
    says: str


class FaceSaid(Part):
    """What a person said about the flaws of one face; `version` 0: nothing."""

    edits: dict[str, Any]
    version: int


class LeafFlaws(Part):
    """The flaws of one leaf, in the order in which a judgement counts them.

    `edits` and `version` are of the face that its own picture shows, `other` of its other face.
    """

    flaws: list[SaidFlaw]
    edits: dict[str, Any]
    version: int
    other: FaceSaid

    @classmethod
    def of(cls, wood: PairWood, leaf: LeafName) -> LeafFlaws:
        """From a pair's wood."""
        now = wood.a if leaf == "a" else wood.b
        face: FaceName = "other_a" if leaf == "a" else "other_b"
        edits, other = dict(wood.edits.get(leaf, {})), dict(wood.edits.get(face, {}))
        own = _said(now.flaws, len(wood.found[leaf]), edits, other_face=False)
        return cls(
            flaws=own + _said(now.other_flaws, len(wood.found[face]), other, other_face=True),
            edits=edits,
            version=wood.versions[leaf],
            other=FaceSaid(edits=other, version=wood.versions[face]),
        )


class FoundOpening(Part):
    """One opening that the search found."""

    number: int
    placing: HandPlacingPart
    verdict: Literal["fits", "marginal", "short"]
    said: str
    spare_mm: float
    score: float


class WorkDocument(Document):
    """A pair as its picture works on it. `version` is the choice's; 0: nothing was chosen."""

    schema_: Literal["seamlight/pair-work/1"] = Field(default="seamlight/pair-work/1", alias="schema")
    pair: int
    label: str
    stands_in: bool
    outlines: list[str]
    outline: str
    chosen: bool
    version: int
    pictures: dict[FaceName, str]
    px_per_mm: dict[LeafName, float]
    facts: HandFactsPart
    flaws: dict[LeafName, LeafFlaws]
    openings: list[FoundOpening]
    judged: JudgeDocument


class PlacingAsked(Part):
    """What is to be judged."""

    outline: str = Field(max_length=80)
    placing: HandPlacingPart


class WayAsked(Part):
    """A way to open the pair, of which the best placing is asked for."""

    outline: str = Field(max_length=80)
    joint_edge: Edge
    neck_end: Literal[1, 2]
    show_face: Face = "sawn"


class ChoiceAsked(PlacingAsked):
    """What is chosen; `version` is that of the choice that was looked at, 0 where there was none."""

    version: int = Field(ge=0)


class ChoiceKept(Part):
    """What is kept now."""

    version: int
    judged: JudgeDocument


class FlawsAsked(Part):
    """What a person says about the flaws of one face, as `--flaws` takes it."""

    edits: dict[str, Any]
    version: int = Field(ge=0)


class FlawsKept(Part):
    """What is kept now."""

    version: int
    facts: HandFactsPart
    flaws: LeafFlaws


def judge_document(placing: HandPlacing, opening: Opening, unit: Unit) -> JudgeDocument:
    """One placing and what it comes to."""
    return JudgeDocument(
        placing=HandPlacingPart.of(placing),
        verdict=verdict(opening),
        said=verdict_sentence(opening, unit),
        opening=OpeningPart.of(opening),
    )


def work_document(bench: Bench, unit: Unit) -> WorkDocument:
    """Everything that the picture of a pair works on."""
    wood = bench.wood
    return WorkDocument(
        warnings=list(wood.registration.warnings),
        pair=bench.pair.id,
        label=bench.pair.label,
        stands_in=wood.stands_in,
        outlines=list(bench.outlines),
        outline=bench.outline.name,
        chosen=bench.chosen,
        version=bench.choice.version if bench.choice is not None else 0,
        pictures=pictures_of(wood),
        px_per_mm=dict(wood.px_per_mm),
        facts=facts_of(wood, bench.outline, bench.settings),
        flaws={leaf: LeafFlaws.of(wood, leaf) for leaf in ("a", "b")},
        openings=[
            FoundOpening(
                number=one.number,
                placing=HandPlacingPart.of(one.placing),
                verdict=verdict(one.opening),
                said=verdict_sentence(one.opening, unit),
                spare_mm=one.opening.spare_mm,
                score=one.opening.score,
            )
            for one in bench.found
        ],
        judged=judge_document(bench.placing, bench.judge(bench.placing), unit),
    )


def facts_of(wood: PairWood, outline: Any, settings: LayoutSettings) -> HandFactsPart:
    """The geometry of a pair and an outline."""
    return HandFactsPart.of(wood.a, wood.b, wood.registration, outline, settings)


def pictures_of(wood: PairWood) -> dict[FaceName, str]:
    """Where the flat picture of each face is; the mirrored A stands in for a B that was not photographed.

    An other face is named where it was photographed; it lies in its leaf's own frame.
    """

    def picture(face: FaceName) -> str:
        return f"/made/{flat_key(wood.pair_id, face)}?read={wood.read_id}"

    shown: dict[FaceName, str] = {"a": picture("a"), "b": picture("a" if wood.stands_in else "b")}
    if "a" in wood.others:
        shown["other_a"] = picture("other_a")
    if "a" in wood.others and wood.stands_in:
        shown["other_b"] = picture("other_a")
    if "b" in wood.others:
        shown["other_b"] = picture("other_b")
    return shown


def _said(flaws: Sequence[Flaw], found: int, edits: dict[str, Any], *, other_face: bool) -> list[SaidFlaw]:
    """The flaws of one face: those kept of the found ones stand first, in order, then those added."""
    kept = [index for index in range(found) if index not in {int(one) for one in edits.get("drop", [])}]
    said = []
    for place, flaw in enumerate(flaws):
        said.append(
            SaidFlaw(
                kind=flaw.kind,
                outline_mm=point_list(flaw.outline_mm),
                sure=flaw.sure,
                counts=flaw.sure >= COUNTS_FROM,
                found=kept[place] if place < len(kept) else None,
                added=place - len(kept) if place >= len(kept) else None,
                other_face=other_face,
            )
        )
    return said
