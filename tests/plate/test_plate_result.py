"""From peaks to the document: told and untold constants, moisture, notes, both ways on one plate."""

import json

import pytest

from seamlight.mistake import Mistake
from seamlight.plate import (
    Circumstances,
    Elastic,
    Peak,
    Piece,
    Rig,
    TapDocument,
    TapReading,
    deflected_plate,
    tapped_bar,
    tapped_plate,
)
from seamlight.plate.bars import bar_air_share, bar_hz
from seamlight.plate.model import frequencies_hz
from seamlight.plate.static import deflection_mm

TRUE = Elastic(11800, 890, 750, 0.372, 715, 34)
LEAF = Piece(550, 200, 200, 3.6, 158)
FIXED = (
    *["peaks", "density_kg_m3", "e_along_mpa", "e_across_mpa", "g_mpa", "loss_along", "loss_across"],
    *["radiation_coefficient", "spread_pct", "targets", "warnings"],
)


def reading(*, without: str = "") -> TapReading:
    quality = {"twist": 60.0, "along": 110.0, "across": 50.0}
    peaks = [
        Peak(hz, -3.0, quality[name], 0.02)
        for name, hz in frequencies_hz(LEAF, TRUE).items()
        if name != without
    ]
    return TapReading(tuple(sorted(peaks, key=lambda peak: peak.hz)), 6, warnings=("one tap was clipped",))


def test_a_tapped_plate() -> None:
    result = tapped_plate(
        reading(), LEAF, Circumstances("Sitka spruce", 20, 65, ring_to_face_deg=70, runout_deg=2)
    )
    document = TapDocument.of(result)
    assert document.e_along_mpa == pytest.approx(11800, rel=0.003)
    assert document.e_across_mpa == pytest.approx(890, rel=0.006)
    assert document.g_mpa == pytest.approx(750, rel=0.006)
    assert [peak.mode for peak in document.peaks] == ["twist", "along", "across"]
    assert document.loss_along == pytest.approx(1 / 110, abs=1e-4)
    assert document.loss_across == pytest.approx(1 / 50)
    assert document.sure > 0.8
    assert document.moisture is not None
    assert document.moisture.moisture_pct == pytest.approx(12, abs=0.05)
    assert document.moisture.e_along_mpa > document.e_along_mpa  # type: ignore[operator]
    assert "one tap was clipped" in document.warnings
    assert any("runout" in line for line in document.notes)
    assert any("rings at 70" in line for line in document.notes)
    assert document.effects_pct["air_mass_along"] > 3  # type: ignore[operator]
    raw = json.loads(document.to_json())
    assert raw["schema"] == "seamlight/tap/1"
    for name in FIXED:
        assert name in raw
    assert TapDocument.model_validate(raw) == document


def test_an_unheard_mode_is_null_with_its_reason() -> None:
    document = TapDocument.of(tapped_plate(reading(without="twist"), LEAF, Circumstances()))
    assert document.g_mpa is None
    assert document.spread_pct.g is None
    assert document.e_along_mpa == pytest.approx(11800, rel=0.02)
    assert any("no mode told G" in line for line in document.warnings)


def test_a_tapped_bar() -> None:
    piece = Piece(300, 8, 8, 16, 420 * 300 * 8 * 16 * 1e-6)
    hz = bar_hz(12000, 700, 420, 300, 16, 3, bar_air_share(piece))
    document = TapDocument.of(
        tapped_bar(TapReading(tuple(Peak(float(one)) for one in hz)), piece, Circumstances())
    )
    assert document.e_along_mpa == pytest.approx(12000, rel=0.005)
    assert document.e_across_mpa is None
    assert [peak.mode for peak in document.peaks] == ["along", "other", "other"]
    assert document.kind == "bar"


def test_deflection_and_taps_say_the_same() -> None:
    rig = Rig(457, 22.2, 152)
    read = deflection_mm(rig, 200, 3.6, TRUE.e_along_mpa, TRUE.e_along_mpa / TRUE.g_along_thick_mpa)
    bent = deflected_plate(LEAF, rig, read, Circumstances("Sitka spruce"))
    tapped = tapped_plate(reading(), LEAF, Circumstances("Sitka spruce"))
    assert bent.e_along_mpa == pytest.approx(tapped.e_along_mpa, rel=0.005)
    document = TapDocument.of(bent)
    assert document.peaks == []
    assert document.e_across_mpa is None
    assert document.spread_pct.e_along == pytest.approx(bent.spread_pct["e_along"], abs=1e-3)


def test_a_span_across_the_grain_and_no_weight() -> None:
    unweighed, rig = Piece(550, 200, 200, 3.6, 0.0), Rig(180, 4.0, 90)
    read = deflection_mm(rig, 550, 3.6, 890, 890 / 34)
    result = deflected_plate(unweighed, rig, read, Circumstances(), direction="across")
    document = TapDocument.of(result)
    assert document.e_across_mpa == pytest.approx(890, rel=0.01)
    assert document.e_along_mpa is None
    assert document.density_kg_m3 is None
    assert document.radiation_coefficient is None
    assert document.size.weight_g is None


@pytest.mark.parametrize(
    ("read_mm", "says"),
    [(56, "perhaps a deflection of 5\\.6 mm"), (0.56, "check the point in the deflection")],
)
def test_a_deflection_with_its_point_in_another_place(read_mm: float, says: str) -> None:
    with pytest.raises(Mistake, match=says):
        deflected_plate(LEAF, Rig(457, 22.2, 152), read_mm, Circumstances("Sitka spruce"))


def test_no_peaks_is_a_mistake() -> None:
    with pytest.raises(Mistake, match="no peak"):
        tapped_plate(TapReading(()), LEAF, Circumstances())
    with pytest.raises(Mistake, match="no species"):
        tapped_plate(reading(), LEAF, Circumstances("plywood"))


def test_a_bars_shear_at_the_standard_moisture_is_that_which_was_told() -> None:
    """Both are the G through its thickness, so that drier wood is a little stiffer, not another modulus."""
    blank = Piece(600.0, 20.0, 20.0, 25.0, 126.0)
    hz = bar_hz(12000.0, 700.0, 420.0, 600.0, 25.0, 3)
    peaks = tuple(Peak(float(one), q=100.0, hz_sd=0.01) for one in hz)
    day = Circumstances(species="Sitka spruce", temp_c=21.0, rh_pct=60.0)
    found = tapped_bar(TapReading(peaks, 6), blank, day)
    assert found.moisture is not None
    assert found.g_mpa is not None
    assert found.moisture.g_mpa is not None
    assert 1.0 < found.moisture.g_mpa / found.g_mpa < 1.15
