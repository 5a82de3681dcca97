"""Recordings as they are taken in from a form: judged by their first bytes, never by their name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from starlette.datastructures import UploadFile

from seamlight.mistake import Mistake
from seamlight.web.serving import Limits
from seamlight.web.uploads import Taken, plain_name

_DO = "give a WAV, FLAC, MP3, OGG or M4A recording"
SUFFIXES = {
    "audio/wav": ".wav",
    "audio/flac": ".flac",
    "audio/ogg": ".ogg",
    "audio/mp4": ".m4a",
    "audio/mpeg": ".mp3",
    "audio/webm": ".webm",
}
ACCEPT = "audio/*,.wav,.flac,.mp3,.ogg,.m4a"


def take_recordings(uploads: Sequence[UploadFile], limits: Limits) -> list[Taken]:
    """The recordings of a form; empty places are passed over.

    Raises:
        Mistake: one is empty, too large, or no recording of a kind that is read.
    """
    return [_take(upload, limits) for upload in uploads if upload.filename]


def _take(upload: UploadFile, limits: Limits) -> Taken:
    upload.file.seek(0)
    data, name = upload.file.read(limits.file_bytes + 1), plain_name(upload.filename)
    if not data:
        raise Mistake("the file is empty", where="recordings", do=f"record again: {name}")
    if len(data) > limits.file_bytes:
        raise Mistake(
            f"{name} has more than {limits.file_bytes >> 20} MB",
            where="recordings",
            do="cut it to a minute of taps",
        )
    media_type = sound_type(data)
    if media_type is None:
        raise Mistake(f"{name} is not a recording this program can open", where="recordings", do=_DO)
    return Taken(data, media_type, name)


def sound_type(data: bytes) -> str | None:
    """What kind of recording the bytes are, by how they begin; None for another thing."""
    # RIFF/WAVE; native FLAC (RFC 9639); Ogg (RFC 3533); ISO/IEC 14496-12 file type box; MPEG audio frame
    # sync (ISO/IEC 11172-3) or an ID3 tag before it
    if data[:4] in (b"RIFF", b"RF64") and data[8:12] == b"WAVE":
        return "audio/wav"
    if data[:4] == b"fLaC":
        return "audio/flac"
    if data[:4] == b"\x1a\x45\xdf\xa3":  # EBML (RFC 8794), as browsers record
        return "audio/webm"
    if data[:4] == b"OggS":
        return "audio/ogg"
    if data[4:8] == b"ftyp":
        return "audio/mp4"
    if data[:3] == b"ID3" or (len(data) > 1 and data[0] == 0xFF and data[1] & 0xE0 == 0xE0 and data[1] & 6):
        return "audio/mpeg"
    return None


@contextmanager
def laid_down(sounds: Sequence[tuple[bytes | Path, str]]) -> Iterator[list[Path]]:
    """Recordings (bytes or a kept file, media type) as files of a folder that goes away, named by number."""
    with TemporaryDirectory(prefix="seamlight-") as folder:
        paths = []
        for number, (sound, media_type) in enumerate(sounds, 1):
            path = Path(folder) / f"recording {number}{SUFFIXES.get(media_type, '.wav')}"
            path.write_bytes(sound if isinstance(sound, bytes) else sound.read_bytes())
            paths.append(path)
        yield paths
