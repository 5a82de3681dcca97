"""Which peak is which: random woods, lost and spurious peaks, what the person says, two places of tapping."""

from xml.etree import ElementTree

import numpy as np
import pytest

from seamlight.mistake import Mistake
from seamlight.plate.drawing import mode_svg
from seamlight.plate.model import all_modes, frequencies_hz, named_modes, surroundings
from seamlight.plate.modes import identify
from seamlight.plate.peaks import Peak, Place
from seamlight.plate.piece import Piece
from seamlight.plate.places import hold_and_tap, place_score
from seamlight.plate.start import expected
from seamlight.plate.stiffness import Elastic

BOARD = Elastic(11000, 858, 704, 0.372, 671, 33)
LEAF = Piece(500, 200, 200, 3.0, 120)


def heard(rng: np.random.Generator, piece: Piece, elastic: Elastic) -> tuple[list[Peak], dict[str, float]]:
    """Peaks of a plate: most higher modes lost at random, up to two that are none, levels at random."""
    named, true = named_modes(piece, elastic, surroundings(piece)), frequencies_hz(piece, elastic)
    own = {round(mode.hz, 6): name for name, mode in named.modes.items()}
    tones, want = [], {}
    for mode in all_modes(piece, elastic, 9):
        name = own.get(round(mode.hz, 6))
        if name is None and rng.random() < 0.4:
            continue
        hz = (true[name] if name else 0.994 * mode.hz) * (1 + 1e-3 * rng.normal())
        tones.append(hz)
        if name:
            want[name] = hz
    tones += list(rng.uniform(20, 250, rng.integers(0, 3)))
    return [Peak(float(hz), -float(rng.uniform(0, 25))) for hz in sorted(tones)], want


def test_random_woods() -> None:
    rng, right, wrong_though_sure, count = np.random.default_rng(20261), 0, 0, 60
    for number in range(count):
        e = rng.uniform(7000, 16000)
        elastic = Elastic(
            e, e * rng.uniform(0.04, 0.14), e * rng.uniform(0.045, 0.11), 0.37, e * 0.06, e * 0.004
        )
        density = e / (rng.uniform(4500, 6000) ** 2 * 1e-6)
        length = rng.uniform(500, 600)
        width, thick = (
            (rng.uniform(180, 230), rng.uniform(2.8, 5)) if number % 2 else (rng.uniform(380, 440), 3.0)
        )
        piece = Piece(length, width, width, thick, density * length * width * thick * 1e-6)
        peaks, want = heard(rng, piece, elastic)
        found = identify(peaks, piece, species="Sitka spruce" if number % 3 else None)
        good = all(found.hz.get(name) == hz for name, hz in want.items())  # type: ignore[call-overload]
        right += good
        wrong_though_sure += not good and found.sure > 0.8
    assert right >= 0.93 * count
    assert wrong_though_sure == 0


def test_the_loudest_need_not_be_the_lowest() -> None:
    hz = frequencies_hz(LEAF, BOARD)
    peaks = [Peak(hz["twist"], -14), Peak(hz["along"], -9), Peak(hz["across"], 0)]
    found = identify(peaks, LEAF, species="Sitka spruce")
    assert found.modes == ("twist", "along", "across")
    assert found.sure > 0.8


@pytest.mark.parametrize("ring_deg", [90.0, 60.0, 45.0, 0.0])
def test_boards_off_the_quarter(ring_deg: float) -> None:
    elastic = expected("Sitka spruce", 410, ring_deg).elastic
    piece = Piece(550, 205, 205, 3.4, 410 * 550 * 205 * 3.4e-6)
    hz = frequencies_hz(piece, elastic)
    peaks = [Peak(one) for one in sorted(hz.values())]
    assert identify(peaks, piece, species="Sitka spruce", ring_to_face_deg=ring_deg).hz == hz
    blind = identify(peaks, piece, species="Sitka spruce")
    assert blind.hz == hz or blind.sure < 0.8


def test_hum_and_room_are_passed_over() -> None:
    hz = frequencies_hz(LEAF, BOARD)
    peaks = [
        Peak(hz["twist"], -5),
        Peak(50.0, 0, kind="hum"),
        Peak(hz["along"], -9),
        Peak(100.0, 0, kind="hum"),
        Peak(hz["across"], -3),
    ]
    assert identify(peaks, LEAF).modes == ("twist", "other", "along", "other", "across")
    with pytest.raises(Mistake, match="no peak of the wood"):
        identify([Peak(50.0, kind="hum")], LEAF)


def test_a_tone_too_sharp_for_wood_is_not_taken_for_twist() -> None:
    hz = frequencies_hz(LEAF, BOARD)
    tones = [(hz["twist"], -8.0, 60.0), (hz["twist"] * 1.13, -3.0, 400.0), (hz["along"], -4.0, 110.0)]
    peaks = [Peak(*tone) for tone in [*tones, (hz["across"], 0.0, 45.0)]]
    assert identify(peaks, LEAF).hz == hz


def test_what_the_person_says_wins() -> None:
    hz = frequencies_hz(LEAF, BOARD)
    peaks = [Peak(hz["twist"]), Peak(hz["along"]), Peak(hz["along"] * 1.12), Peak(hz["across"])]
    said = {"along": hz["along"] * 1.12}
    found = identify(peaks, LEAF, said=said)  # type: ignore[arg-type]
    assert found.hz["along"] == peaks[2].hz
    with pytest.raises(Mistake, match="no peak at"):
        identify(peaks, LEAF, said={"along": 300.0})
    with pytest.raises(Mistake, match="named twice"):
        identify(peaks, LEAF, said={"along": hz["along"], "twist": hz["along"]})


def test_where_it_was_tapped_tells_modes_apart() -> None:
    """A joined plate whose twist and across lie close: levels at two places say which is which."""
    board = Elastic(11000, 11000 * 0.05, 11000 * 0.075, 0.372, 671, 33)
    piece = Piece(521, 435, 435, 2.8, 250)
    named, hz = named_modes(piece, board, surroundings(piece)), frequencies_hz(piece, board)
    places = (Place(0.5, 0.97), Place(0.97, 0.97))
    peaks = []
    for name in ("twist", "along", "across"):
        level = [20 * np.log10(max(abs(named.modes[name].at(p.along, p.across)), 0.1)) for p in places]
        peaks.append(Peak(hz[name], max(level), level_at_db=tuple(level)))
    assert abs(np.log(hz["twist"] / hz["across"])) < 0.1
    peaks.sort(key=lambda peak: peak.hz)
    found = identify(peaks, piece, places=places)
    assert {name: found.hz[name] for name in hz} == hz
    for name in ("twist", "across"):
        own = next(peak for peak in peaks if peak.hz == hz[name])
        other = next(peak for peak in peaks if peak.hz == hz["across" if name == "twist" else "twist"])
        assert place_score(named.modes[name], own, places) < place_score(named.modes[name], other, places)


def test_hold_on_still_lines_and_tap_where_it_moves() -> None:
    named = named_modes(LEAF, BOARD, surroundings(LEAF))
    for name, mode in named.modes.items():
        told = hold_and_tap(name, mode)
        for place in told.hold:
            assert abs(mode.at(*place)) < 0.1
        assert abs(mode.at(*told.tap)) > 0.8
        assert told.still_lines
        for line in told.still_lines:
            assert max(abs(mode.at(*point)) for point in line) < 0.1
    # a free beam's still places: 0.22416 of its length from either end (computed); a plate's bow outward
    assert hold_and_tap("along", named.modes["along"]).hold[0][0] == pytest.approx(0.224, abs=0.015)


def test_the_drawing_is_whole_and_says_what_to_do() -> None:
    named = named_modes(LEAF, BOARD, surroundings(LEAF))
    for name, mode in named.modes.items():
        svg = ElementTree.fromstring(mode_svg(name, mode, LEAF, 62.4))
        kinds = [part.tag.rpartition("}")[2] for part in svg]
        assert kinds.count("circle") == len(hold_and_tap(name, mode).hold)
        assert kinds.count("polyline") == 2
        assert "hold" in svg.attrib["aria-label"]
        assert svg[-1].text == f"{name}, 62.4 Hz"
