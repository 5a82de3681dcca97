"""What is typed and sent on the plate's page: rows of a map, loads, places, kinds of recording."""

from __future__ import annotations

import doctest

import pytest

from seamlight.mistake import Mistake
from seamlight.web import plate_form
from seamlight.web.plate_form import newtons, places_of
from seamlight.web.plate_maps import thickness_document
from seamlight.web.recordings import sound_type


@pytest.mark.parametrize(
    "text", ["3.4, 3.5, 3.4\n3.5, 3.7, 3.5", "3,4 3,5 3,4\n3,5 3,7 3,5", "3.4\t3.5\t3.4\n3.5;3.7;3.5"]
)
def test_rows_are_read_as_makers_type_them(text: str) -> None:
    document = thickness_document(text, "grid", 2.8, (500.0, 200.0), "mm")
    assert [round(t, 2) for _, _, t in document.readings] == [3.4, 3.5, 3.4, 3.5, 3.7, 3.5]


def test_places_off_the_piece_are_named() -> None:
    with pytest.raises(Mistake, match="lies off the piece"):
        thickness_document("10,10,3\n20,600,3\n30,20,3", "places", 2.8, (500.0, 200.0), "mm")


def test_a_load_says_its_unit_and_places_are_spots_or_parts() -> None:
    with pytest.raises(Mistake, match="says no unit"):
        newtons("22")
    places = places_of({"changed": "tapped", "places": "corner\n0.5 0.97"}, 2)
    assert [(one.along, one.across, one.what) for one in places] == [
        (0.97, 0.97, "tapped"),
        (0.5, 0.97, "tapped"),
    ]
    assert doctest.testmod(plate_form).failed == 0


@pytest.mark.parametrize(
    ("start", "kind"),
    [
        (b"RIFF\0\0\0\0WAVE", "audio/wav"),
        (b"fLaC", "audio/flac"),
        (b"OggS", "audio/ogg"),
        (b"\0\0\0\x20ftypM4A ", "audio/mp4"),
        (b"ID3\x04", "audio/mpeg"),
        (b"\xff\xfb\x90", "audio/mpeg"),
        (b"\x1a\x45\xdf\xa3", "audio/webm"),
        (b"%PDF-1.7", None),
        (b"\xff\xd8\xff\xe0JFIF", None),
    ],
)
def test_a_recording_is_known_by_its_first_bytes(start: bytes, kind: str | None) -> None:
    assert sound_type(start) == kind
