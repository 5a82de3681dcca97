"""What to do next at the bench, in the trade's words; the likely cause; what light cannot see."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seamlight.seam.bench import Bench
from seamlight.seam.clamping import clamp_count
from seamlight.seam.meaning import Meaning
from seamlight.seam.places import place_words, thin_words
from seamlight.seam.shape import Run, Shape
from seamlight.seam.square import Felt, Square
from seamlight.seam.strokes import Strokes
from seamlight.seam.verdict import GLUE_TO_MM
from seamlight.units import Unit

UNSEEN = (
    "light cannot see an edge out of square: a joint that touches along either face is dark;"
    " check each face by feeler, or by light from the side"
)
REFOLD = "fold the leaves show face to show face and plane both edges together: what they lean cancels"
FILLED = "glue fills so little; fold the leaves show face to show face next time"
LOWER_BOUND = (
    "one picture gives the least the gap can be: a joint hides its gap from a camera off its plane;"
    " take several, or a short film across the seam"
)
ROOM_UNKNOWN = (
    "how much may still come off is not known: lay the pair out before much is planed, or it may end up short"
)
BACK_TO_THE_MACHINE = "stop: passes in a row made it worse; go back to the machine or the straight rail"
CAUTION = "keep hands off a running jointer and use push blocks: thin leaves tip; wear a mask for the dust"

LIT = 0.02  # of full light: what a gap that touches may send

# Likely causes (common practice, no source)
CAUSES: Mapping[Shape, str] = {
    "closed": "",
    "hollow": "strokes that began and ended short of the ends, or a plane that cut most mid-way",
    "hump": "the plane or board rocked over the ends: weight belongs on toe at entry, on heel at exit",
    "open at neck end": "weight on the heel at entry, a dull iron that dug in there, or one leaf crept on the"
    " board",
    "open at tail end": "weight on the toe at exit, or one leaf crept on the board",
    "patches": "grain running out, a knot or a dull iron that skips and digs; abrasive on a long straight bar"
    " levels it where a plane will not",
    "wind": "the leaves were not planed folded, or one lay twisted on the board",
}


def _between(run: Run, unit: Unit) -> str:
    return f"from {place_words(run[0], unit)} to {place_words(run[1], unit)}"


def stroke_lines(strokes: Sequence[Strokes], unit: Unit) -> list[str]:
    """The next strokes as one line, and what comes after them."""
    if not strokes:
        return []
    steps: list[str] = []
    for step in sorted({one.step for one in strokes}):
        ours = [one for one in strokes if one.step == step]
        places = " and ".join(_between((one.from_mm, one.to_mm), unit) for one in ours)
        steps.append(f"{ours[0].count} {'stroke' if ours[0].count == 1 else 'strokes'} {places}")
    said = "; then ".join(steps)
    return [
        f"next, leaves folded, {strokes[0].tool} on a long straight board (from the neck end): {said}",
        "then one or two light strokes from end to end, fold open and read again",
    ]


def shape_line(meaning: Meaning, unit: Unit) -> str:
    """What the joint is like, in one sentence."""
    where = place_words(meaning.at_mm, unit)
    through = 0.0 if meaning.light is None or meaning.measured != "relative" else float(meaning.light.mean())
    if meaning.shape == "closed" and through > LIT:
        return "straight from end to end once the shims are out: the light through it is even"
    if meaning.shape == "closed":
        seen = "no gap that counts" if meaning.measured == "readings" else "no light that counts"
        if meaning.lower_bound:
            seen += ", in one picture"
        return f"closed from end to end: {seen}"
    if meaning.widest_mm is None:
        return f"{_named(meaning.shape)}, most light {where} from the neck end; how wide is not known"
    # hundredths: the reading says no more
    wide = thin_words(meaning.widest_mm, unit)
    doubt = f" +-{thin_words(meaning.error_mm, unit)}" if meaning.error_mm else ""
    if meaning.shape == "wind":
        return f"wind: the faces open by {wide}{doubt} at the ends, one face at each"
    return f"{_named(meaning.shape)}, widest {wide}{doubt} at {where} from the neck end"


def _named(shape: Shape) -> str:
    return {"hollow": "hollow: open in the middle", "hump": "hump: open at both ends"}.get(shape, shape)


def square_lines(square: Square | None, unit: Unit) -> list[str]:
    """What the feelers on both faces said."""
    if square is None:
        return []
    said: list[str] = []
    if not square.is_square:
        face = "front" if square.out_of_square_mm > 0 else "back"
        wide = thin_words(abs(square.out_of_square_mm), unit)
        lean = abs(square.out_of_square_deg)
        said.append(f"out of square by {lean:.1f} degrees: the {face} face is open {wide} more")
    if not square.is_straight:
        said.append(f"wind of {thin_words(abs(square.wind_mm), unit)} over the thickness from end to end")
    if not said:
        return ["both faces are open alike: the edges are square"]
    return [*said, REFOLD if square.must_be_squared or not square.is_straight else FILLED]


def felt_lines(felt: Felt | None, unit: Unit) -> list[str]:
    """Whether feelers and light say the same."""
    if felt is None:
        return []
    off = thin_words(abs(felt.off_mm), unit)
    if felt.agrees:
        return [f"feelers and light agree: {off} apart at most, shims taken out"]
    more = "wider" if felt.off_mm > 0 else "narrower"
    at = place_words(felt.at_mm, unit)
    return [
        f"feelers and light differ: {at} from the neck end the feelers found it {off} {more};"
        " seat the joint alike for both, and read it again"
    ]


def clamp_lines(meaning: Meaning, bench: Bench) -> list[str]:
    """What clamps have to do with it."""
    unit = bench.unit
    pulls, wants = meaning.closing, meaning.wanted
    if meaning.shape in ("hump", "open at neck end", "open at tail end"):
        return ["clamps cannot mend this: forced shut, the ends go on pulling and open first"]
    if pulls is None or wants is None or meaning.shape == "wind":
        return []
    said: list[str] = []
    if meaning.shape in ("hollow", "patches"):
        pull = pulls.safe
        pressure = pull.pressure_mpa
        said.append(
            f"clamps pull it shut at about {pressure:.2f} MPa ({pressure * 145.038:.0f} psi), "
            f"{pressure * wants.area_mm2:.0f} N over the joint; {bench.glue.name} wants "
            f"{wants.pressure_mpa.low:.2f} to {wants.pressure_mpa.high:.2f} MPa, of which "
            f"{max(wants.pressure_mpa.low - pressure, 0.0):.2f} to"
            f" {max(wants.pressure_mpa.high - pressure, 0.0):.2f} is left for it"
        )
        if not meaning.feasible:
            said.append("that leaves too little for the glue: take strokes first")
        elif meaning.widest_mm is not None and meaning.widest_mm > 2 * GLUE_TO_MM:
            said.append("only clamps or wedges could do that, rope or tape cannot")
        said.append(f"once glued the joint goes on pulling {pull.stays_mpa:.2f} MPa in the widest place")
    if meaning.verdict == "glue":
        count = clamp_count(wants.force_low_n, meaning.length_mm, bench.width_mm)
        said.append(
            f"glue: {wants.force_low_n:.0f} to {wants.force_high_n:.0f} N on {wants.area_mm2 / 100:.1f} cm2, "
            f"about {count} light clamps no further apart than {place_words(2 * bench.width_mm, unit)}; "
            "a joint pressed harder is starved"
        )
    return said


def room_lines(meaning: Meaning, bench: Bench) -> list[str]:
    """Whether the wood for it is there."""
    if meaning.verdict == "glue" or (bench.room_mm is not None and not meaning.deepest_mm):
        return []
    if bench.room_mm is None:
        # what a plane takes for a joint of unknown width, out of square or in wind is not known either
        return [ROOM_UNKNOWN]
    unit = bench.unit
    deepest = meaning.deepest_mm or 0.0
    deep, room = thin_words(deepest, unit), thin_words(bench.room_mm, unit)
    if deepest > bench.room_mm:
        return [
            f"this takes {deep} off each edge, and only {room} is left on the layout: do not; "
            "lay the pair out again, or take a smaller outline"
        ]
    left = thin_words(bench.room_mm - deepest, unit)
    return [f"this takes {deep} off each edge at most; {left} of the room on the layout stays"]


def folded_line(meaning: Meaning, bench: Bench) -> list[str]:
    """What a reading that was not made on the closed joint means for it."""
    if meaning.of == "folded":
        return ["read on folded edges: in the joint the gap is twice what the straightedge showed"]
    alone_mm = 2 * (meaning.deepest_mm or 0.0)
    if meaning.of == "one-edge" and bench.room_mm is not None and alone_mm > bench.room_mm:
        return [f"never this edge alone: it would take {thin_words(alone_mm, bench.unit)}, more than is left"]
    if meaning.of == "one-edge":
        return ["off this edge alone it takes twice the depth that is given for both"]
    return []


def advise(meaning: Meaning, bench: Bench) -> list[str]:
    """Lines of advice, what to do first; lengths in the bench's unit."""
    unit = bench.unit
    stopped = meaning.progress is not None and meaning.progress.stop and meaning.verdict != "glue"
    lines = [shape_line(meaning, unit)]
    if stopped:
        lines.append(BACK_TO_THE_MACHINE)
    faces = square_lines(meaning.square, unit)
    lines += faces + felt_lines(meaning.felt, unit)
    too_deep = bench.room_mm is not None and (meaning.deepest_mm or 0.0) > bench.room_mm
    if meaning.verdict == "a few strokes" and not stopped:
        lines += stroke_lines(meaning.strokes, unit) or _without_width(meaning)
    if meaning.verdict == "plane again" and meaning.shape != "wind" and not too_deep:
        lines.append(
            "plane again: fold the leaves, full-length strokes, weight from toe to heel;"
            f" the joint needs {thin_words(meaning.deepest_mm or 0.0, unit)} off each edge at most"
        )
    lines += room_lines(meaning, bench)
    lines += folded_line(meaning, bench)
    if CAUSES[meaning.shape] and meaning.verdict != "glue":
        lines.append(f"likely cause: {CAUSES[meaning.shape]}")
    lines += clamp_lines(meaning, bench)
    if meaning.progress is not None and len(meaning.progress.ways) > 1:
        lines.append(meaning.progress.says(unit))
    if (meaning.shape == "closed" or meaning.verdict == "glue") and meaning.square is None:
        lines.append(UNSEEN)
    if meaning.lower_bound:
        lines.append(LOWER_BOUND)
    lines += meaning.cautions
    if meaning.verdict == "plane again":
        lines.append(CAUTION)
    return list(dict.fromkeys(lines))


def _without_width(meaning: Meaning) -> list[str]:
    """Where the width isn't known: how the maker finds out."""
    if meaning.measured != "relative" or meaning.shape == "closed":
        return []
    test = "slide paper (about 0.1 mm) into the widest place"
    if meaning.shape == "hollow":
        return [f"{test}: if one sheet slides and two do not, clamps will pull it shut"]
    where = {
        "hump": "take strokes in the middle only, starting and stopping short of each end",
        "open at neck end": "take strokes over the tail part only",
        "open at tail end": "take strokes over the neck part only",
    }.get(meaning.shape, "take strokes where it touches, none where it is open")
    return [f"{test}; {where}, then one or two from end to end, and look again"]
