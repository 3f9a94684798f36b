"""Sound files -> what the ears take: RATE, mono, signed 16-bit little-endian."""

import io
from pathlib import Path
from typing import NoReturn

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.ports import RATE

LONGEST_S = 60.0
"""An utterance is seconds long; a longer file is something else and would take long to hear."""
_LEAST_RATE, _MOST_RATE = 8_000, 384_000
"""Below, the consonants are gone; above, the header is wrong."""
_SILENT = 5e-4
"""No 32 ms of a file are louder (root mean square, -66 dB of full scale): nothing but the noise of an open input."""
_WINDOW = 512
_OGG_PAGE, _OGG_LAST = b"OggS", 4
_OGG_TAIL = 2**17
"""Bytes: more than the longest Ogg page, so the last page begins inside."""


def read_audio(file: Path) -> bytes:
    """The samples of a WAV, FLAC or Ogg (Vorbis, Opus) file of any rate, width and number of channels.

    Raises Refusal (BAD_AUDIO) for a missing or unreadable file, a folder, no audio, and an empty, cut-off, silent or
    overlong one.
    """
    samples, rate = _decoded(file, _content(file))
    if not np.all(np.isfinite(samples)):
        _refuse(file, "holds samples that are no numbers; record it again")
    mono = samples.mean(axis=1)
    if rate != RATE:
        mono = soxr.resample(mono, rate, RATE)
    if _loudest(mono) < _SILENT:
        _refuse(file, "is silent; check the microphone that recorded it")
    return bytes((np.clip(mono, -1.0, 1.0) * 32767).astype("<i2").tobytes())


def _refuse(file: Path, why: str) -> NoReturn:
    raise Refusal(Exit.BAD_AUDIO, f"{file}: {why}") from None


def _content(file: Path) -> bytes:
    try:
        if file.is_dir():
            _refuse(file, "is a folder; name a recording in it")
        content = file.read_bytes()
    except FileNotFoundError:
        _refuse(file, "no such file; name a recording (WAV, FLAC or Ogg)")
    except PermissionError:
        _refuse(file, "may not be read; change its permissions")
    except OSError as error:
        _refuse(file, f"cannot be read ({error.strerror}); name another, or a copy of it")
    if not content:
        _refuse(file, "is empty; record it again")
    return content


def _decoded(file: Path, content: bytes) -> tuple[NDArray[np.float64], int]:
    """Float samples of shape (frames, channels) and their rate."""
    try:
        with soundfile.SoundFile(io.BytesIO(content)) as sound:
            rate, frames = int(sound.samplerate), int(sound.frames)
            if not _LEAST_RATE <= rate <= _MOST_RATE:
                _refuse(file, f"has {rate} samples a second; {_LEAST_RATE} to {_MOST_RATE} can be heard")
            if frames / rate > LONGEST_S:
                _refuse(file, f"{frames / rate:.0f} s long; an utterance has at most {LONGEST_S:.0f} s, cut it first")
            samples = sound.read(dtype="float64", always_2d=True)
    except soundfile.LibsndfileError:
        _refuse(file, "is no audio that can be read; use WAV, FLAC or Ogg")
    if len(samples) < frames or _cut_off(content):
        _refuse(file, "is cut off: its end is missing; copy or record it again")
    if not len(samples):
        _refuse(file, "holds no samples; record it again")
    return samples, rate


def _cut_off(content: bytes) -> bool:
    """Whether the file ends before its own header says so; the decoder passes over that for WAV and Ogg."""
    if content[:4] == b"RIFF":
        size = int.from_bytes(content[4:8], "little")
        # 0 and the highest number stand for 'not known' where a program wrote to a pipe.
        return size not in (0, 2**32 - 1) and size + 8 > len(content) + 1
    if content[:4] == _OGG_PAGE:
        tail = content[-_OGG_TAIL:]
        last = tail.rfind(_OGG_PAGE)
        return last + 5 >= len(tail) or not tail[last + 5] & _OGG_LAST
    return False


def _loudest(mono: NDArray[np.float64]) -> float:
    """The highest root mean square of a window."""
    padded = np.pad(mono, (0, -len(mono) % _WINDOW)).reshape(-1, _WINDOW)
    return float(np.sqrt(np.mean(padded**2, axis=1)).max())
