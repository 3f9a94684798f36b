"""Sound files of every kind become the same samples, or one clear line."""

import re
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit, Refusal
from assistant.speech import audio
from assistant.speech.audio import LONGEST_S, read_audio


def tone(rate: int = 16_000, seconds: float = 0.5, loud: float = 0.5) -> np.ndarray:
    return loud * np.sin(2 * np.pi * 440 * np.arange(round(rate * seconds)) / rate)


def samples(content: bytes) -> np.ndarray:
    return np.frombuffer(content, "<i2").astype(float) / 32767


def refused(file: Path) -> str:
    with pytest.raises(Refusal) as told:
        read_audio(file)
    assert told.value.code is Exit.BAD_AUDIO
    assert "\n" not in told.value.line
    assert told.value.line.startswith(f"{file}: ")
    return told.value.line


@pytest.mark.parametrize("rate", [8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_any_rate_and_number_of_channels_becomes_the_same_tone(tmp_path: Path, rate: int, channels: int) -> None:
    file = tmp_path / "a.wav"
    soundfile.write(file, np.repeat(tone(rate)[:, None], channels, axis=1), rate)
    heard = samples(read_audio(file))
    assert len(heard) == pytest.approx(8_000, abs=2)
    inner = slice(800, 7200)
    assert np.max(np.abs(heard[inner] - tone()[inner])) < 0.02


@pytest.mark.parametrize(
    ("name", "subtype"),
    [
        ("a.wav", "PCM_U8"),
        ("a.wav", "PCM_16"),
        ("a.wav", "PCM_24"),
        ("a.wav", "PCM_32"),
        ("a.wav", "FLOAT"),
        ("a.wav", "DOUBLE"),
        ("a.flac", "PCM_16"),
        ("a.flac", "PCM_24"),
        ("a.ogg", "VORBIS"),
        ("a.ogg", "OPUS"),
    ],
)
def test_any_width_and_container(tmp_path: Path, name: str, subtype: str) -> None:
    soundfile.write(tmp_path / name, tone(), 16_000, subtype=subtype)
    heard = samples(read_audio(tmp_path / name))
    assert np.sqrt(np.mean(heard[1600:6400] ** 2)) == pytest.approx(0.5 / np.sqrt(2), rel=0.1)


def test_a_missing_file_a_folder_and_an_empty_file(tmp_path: Path) -> None:
    (tmp_path / "empty.wav").write_bytes(b"")
    assert "no such file" in refused(tmp_path / "none.wav")
    assert "is a folder" in refused(tmp_path)
    assert "is empty" in refused(tmp_path / "empty.wav")


@pytest.mark.parametrize("content", [b"not audio at all, only words", b"RIFF", b"OggS", b"fLaC", b"\0" * 5000])
def test_no_audio(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "a.wav"
    file.write_bytes(content)
    assert "no audio that can be read" in refused(file)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbidden(path: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(path))

    soundfile.write(tmp_path / "a.wav", tone(), 16_000)
    monkeypatch.setattr(audio.Path, "read_bytes", forbidden)
    assert "may not be read" in refused(tmp_path / "a.wav")


def test_no_samples(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", tone()[:0], 16_000)
    assert "holds no samples" in refused(tmp_path / "a.wav")


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.ogg"])
@pytest.mark.parametrize("kept", [0.4, 0.9])
def test_a_cut_off_file(tmp_path: Path, name: str, kept: float) -> None:
    noise = np.random.default_rng(1).normal(0, 0.1, 160_000)
    soundfile.write(tmp_path / name, noise, 16_000)
    content = (tmp_path / name).read_bytes()
    (tmp_path / name).write_bytes(content[: int(len(content) * kept)])
    assert re.search("cut off|no audio that can be read", refused(tmp_path / name))


def test_a_wav_of_unknown_length_from_a_pipe_is_read(tmp_path: Path) -> None:
    file = tmp_path / "a.wav"
    soundfile.write(file, tone(), 16_000)
    content = bytearray(file.read_bytes())
    content[4:8] = struct.pack("<I", 2**32 - 1)
    file.write_bytes(content)
    assert len(samples(read_audio(file))) == 8_000


@pytest.mark.parametrize("loud", [0.0, 1e-4])
def test_silence_and_the_noise_of_an_open_input(tmp_path: Path, loud: float) -> None:
    soundfile.write(tmp_path / "a.wav", np.random.default_rng(1).normal(0, loud, 32_000), 16_000)
    assert "is silent" in refused(tmp_path / "a.wav")


def test_one_soft_word_in_a_long_silence_is_no_silence(tmp_path: Path) -> None:
    sound = np.zeros(160_000)
    sound[80_000:84_000] = tone(seconds=0.25, loud=0.01)
    soundfile.write(tmp_path / "a.wav", sound, 16_000)
    assert len(samples(read_audio(tmp_path / "a.wav"))) == 160_000


def test_ten_minutes_are_refused_and_the_limit_is_heard(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "long.flac", tone(8_000, 600), 8_000)
    soundfile.write(tmp_path / "just.flac", tone(8_000, LONGEST_S), 8_000)
    assert "600 s long; an utterance has at most 60 s" in refused(tmp_path / "long.flac")
    assert len(read_audio(tmp_path / "just.flac")) == 2 * 60 * 16_000


@pytest.mark.parametrize("rate", [1, 2_000, 1_000_000])
def test_a_rate_that_cannot_be(tmp_path: Path, rate: int) -> None:
    soundfile.write(tmp_path / "a.wav", tone(), rate)
    assert f"has {rate} samples a second" in refused(tmp_path / "a.wav")


def test_samples_that_are_no_numbers(tmp_path: Path) -> None:
    sound = tone()
    sound[100] = np.nan
    soundfile.write(tmp_path / "a.wav", sound, 16_000, subtype="FLOAT")
    assert "no numbers" in refused(tmp_path / "a.wav")


def test_overloaded_samples_are_clipped_not_wrapped(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", tone(loud=3.0), 16_000, subtype="FLOAT")
    assert np.array_equal(np.sign(samples(read_audio(tmp_path / "a.wav"))[1:18]), np.sign(tone()[1:18]))
