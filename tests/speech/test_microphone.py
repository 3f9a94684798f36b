"""The microphone on a made-up PortAudio: what it hears, drops, tells and refuses."""

import sys
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import soundfile

from assistant import loudspeaker
from assistant.cli import main
from assistant.exits import Exit, Refusal
from assistant.speech import microphone
from assistant.speech.microphone import AFTER_SPEECH_BLOCKS, BLOCK, MUTED_BLOCKS, Microphone, level_hint

FINE = SimpleNamespace(input_overflow=False)


class PortAudioError(Exception):
    pass


def block(number: int) -> bytes:
    return np.full(BLOCK, number, "<i2").tobytes()


class FakeAudio:
    """Stands for the module sounddevice."""

    PortAudioError = PortAudioError

    def __init__(self) -> None:
        self.devices = [("Speakers", 0), ("Desk Mic", 1), ("USB Mic", 1), ("Mic", 2)]
        self.opened: dict[str, Any] = {}
        self.opening: Exception | None = None
        self.starting: Exception | None = None
        self.playing: Exception | None = None
        self.while_playing: Callable[[], None] = lambda: None
        self.stuck = False
        self.closed = self.stopped = 0

    def query_devices(self, kind: str | None = None) -> Any:
        found = [{"name": n, "max_input_channels": c, "index": i} for i, (n, c) in enumerate(self.devices)]
        if kind is None:
            return found
        if not any(each["max_input_channels"] for each in found):
            raise PortAudioError("Error querying device -1")
        return next(each for each in found if each["max_input_channels"])

    def RawInputStream(self, **options: Any) -> SimpleNamespace:  # noqa: N802
        if self.opening:
            raise self.opening
        self.opened = options
        return SimpleNamespace(start=self._start, close=self._close)

    def _start(self) -> None:
        if self.starting:
            raise self.starting

    def _close(self) -> None:
        self.closed += 1

    def hear(self, *numbers: int, status: SimpleNamespace = FINE) -> None:
        for number in numbers:
            self.opened["callback"](block(number), BLOCK, None, status)

    def play(self, samples: Any, rate: int, latency: float) -> None:
        if self.playing:
            raise self.playing
        self.while_playing()

    def get_stream(self) -> SimpleNamespace:
        return SimpleNamespace(active=self.stuck)

    def stop(self, ignore_errors: bool = True) -> None:
        self.stopped += 1


@pytest.fixture
def audio(monkeypatch: pytest.MonkeyPatch) -> FakeAudio:
    fake = FakeAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    monkeypatch.setattr(microphone, "PATIENCE_S", 0.05)
    monkeypatch.setattr(loudspeaker, "_PATIENCE_S", 0.05)
    return fake


@pytest.fixture
def wav(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "said.wav", np.zeros(100, np.int16), 22_050)
    return tmp_path / "said.wav"


def first_samples(heard: Microphone, count: int) -> list[int]:
    return [int(np.frombuffer(each, "<i2")[0]) for each in islice(heard, count)]


def refusal(act: Callable[[], object]) -> Refusal:
    with pytest.raises(Refusal) as caught:
        act()
    assert "\n" not in caught.value.line
    return caught.value


def test_blocks_come_in_order_as_16_khz_mono_16_bit(audio: FakeAudio) -> None:
    with Microphone() as heard:
        audio.hear(1, 2, 3)
        assert first_samples(heard, 3) == [1, 2, 3]
    form = {name: audio.opened[name] for name in ("samplerate", "channels", "dtype", "blocksize")}
    assert form == {"samplerate": 16_000, "channels": 1, "dtype": "int16", "blocksize": 512}
    assert audio.closed == audio.stopped == 1


def test_nothing_is_heard_while_it_speaks_and_for_four_tenths_after(audio: FakeAudio, wav: Path) -> None:
    with Microphone() as heard:
        audio.while_playing = lambda: audio.hear(*range(100, 120))
        audio.hear(7)
        heard.play(wav)
        audio.hear(*range(200, 200 + AFTER_SPEECH_BLOCKS), 1, 2)
        assert first_samples(heard, 2) == [1, 2]
    assert 0.3 <= AFTER_SPEECH_BLOCKS * BLOCK / 16_000 <= 0.5  # voice.md: muted 300 to 500 ms after


@pytest.mark.parametrize(("wanted", "index"), [(None, 1), ("usb", 2), ("mic", 3), ("desk M", 1)])
def test_a_device_is_chosen_by_name(audio: FakeAudio, wanted: str | None, index: int) -> None:
    chosen = Microphone(wanted)
    assert audio.opened["device"] == index
    assert chosen.name == audio.devices[index][0]


@pytest.mark.parametrize("wanted", ["nobody", "Speakers", ""])
def test_a_wrong_name_is_refused_with_the_names_that_are_known(audio: FakeAudio, wanted: str) -> None:
    refused = refusal(lambda: Microphone(wanted))
    assert refused.code == Exit.BAD_AUDIO
    assert f"'{wanted}'" in refused.line
    assert refused.line.endswith("known: Desk Mic, USB Mic, Mic")


def test_no_microphone_at_all_is_one_line(audio: FakeAudio) -> None:
    audio.devices = [("Speakers", 0)]
    assert refusal(Microphone).line.endswith("known: none")


def test_a_device_that_cannot_be_opened_or_started_is_one_line(audio: FakeAudio) -> None:
    audio.starting = PortAudioError("Device\nunavailable")
    assert "'Desk Mic': cannot be started (Device unavailable)" in refusal(Microphone().__enter__).line
    assert audio.closed == 1
    audio.opening = PortAudioError("Invalid sample rate")
    assert "'Desk Mic': cannot be opened (Invalid sample rate)" in refusal(Microphone).line


def test_without_portaudio_the_command_is_one_line_and_begins_no_job(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    class Missing:
        def find_spec(self, name: str, path: object = None, target: object = None) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    assert main(["listen", str(tmp_path / "hall.job")]) == Exit.BAD_AUDIO
    told = capsys.readouterr().err
    assert "PortAudio is missing" in told
    assert "libportaudio2" in told
    assert told.count("\n") == 1
    assert not (tmp_path / "hall.job").exists()


def test_a_device_that_brings_nothing_any_more_is_given_up(audio: FakeAudio) -> None:
    heard = iter(Microphone())
    audio.hear(1)
    next(heard)
    refused = refusal(lambda: next(heard))
    assert refused.code == Exit.BAD_AUDIO
    assert "'Desk Mic': no sound comes any more" in refused.line


def test_a_stream_that_portaudio_ends_is_given_up_at_once(audio: FakeAudio, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "PATIENCE_S", 1000.0)
    heard = iter(Microphone())
    audio.opened["finished_callback"]()
    assert "no sound comes any more" in refusal(lambda: next(heard)).line


def test_lost_sound_and_digital_silence_are_told_once(audio: FakeAudio, capsys: pytest.CaptureFixture[str]) -> None:
    heard = iter(Microphone())
    audio.hear(*[0] * (MUTED_BLOCKS - 1), 1, *[0] * (MUTED_BLOCKS - 1))
    for _ in range(2 * MUTED_BLOCKS - 1):
        next(heard)
    assert capsys.readouterr().err == ""
    audio.hear(*[0] * MUTED_BLOCKS, status=SimpleNamespace(input_overflow=True))
    audio.hear(1, *[0] * MUTED_BLOCKS)
    for _ in range(2 * MUTED_BLOCKS + 1):
        next(heard)
    told = capsys.readouterr().err.splitlines()
    assert sorted(line.partition("': ")[2] for line in told) == [
        "brings nothing but digital silence; is it muted?",
        "some sound was lost; this machine is too busy",
    ]


def test_a_loudspeaker_that_fails_or_never_ends_is_one_line(audio: FakeAudio, wav: Path) -> None:
    heard = Microphone()
    audio.stuck = True
    refused = refusal(lambda: heard.play(wav))
    assert (refused.code, "does not play" in refused.line) == (Exit.NO_VOICE, True)
    audio.playing = PortAudioError("Error querying device -1")
    refused = refusal(lambda: heard.play(wav))
    assert (refused.code, "--quiet" in refused.line) == (Exit.NO_VOICE, True)


@pytest.mark.parametrize(
    ("peak", "factor", "hint"),
    [(0.5, 1.0, None), (0.05, 1.0, None), (0.02, 1.0, "far too quiet"), (0.9, 4.0, "too loud")],
)
def test_the_level_hint(peak: float, factor: float, hint: str | None) -> None:
    wave = np.sin(np.arange(16_000) * 0.1) * peak * factor
    found = level_hint((np.clip(wave, -1, 1) * 32767).astype("<i2").tobytes())
    assert found is None if hint is None else hint in (found or "")


def test_a_level_is_told_once_with_the_name(audio: FakeAudio, capsys: pytest.CaptureFixture[str]) -> None:
    heard = Microphone()
    heard.judge(b"")
    for _ in range(3):
        heard.judge(block(5))
    assert capsys.readouterr().err == (
        "pullcall: microphone 'Desk Mic': far too quiet; turn its level up or come closer\n"
    )
