"""The loudspeaker on a made-up PortAudio: what it refuses."""

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import soundfile

from assistant import loudspeaker
from assistant.exits import Exit, Refusal
from assistant.loudspeaker import Loudspeaker


class PortAudioError(Exception):
    pass


class FakeAudio:
    """Stands for the module sounddevice."""

    PortAudioError = PortAudioError

    def __init__(self) -> None:
        self.playing: Exception | None = None
        self.none = self.stuck = False
        self.stopped = 0

    def query_devices(self, kind: str) -> Any:
        if self.none:
            raise PortAudioError("Error querying device -1")

    def play(self, samples: Any, rate: int, latency: float) -> None:
        if self.playing:
            raise self.playing

    def get_stream(self) -> SimpleNamespace:
        return SimpleNamespace(active=self.stuck)

    def stop(self, ignore_errors: bool = True) -> None:
        self.stopped += 1


@pytest.fixture
def audio(monkeypatch: pytest.MonkeyPatch) -> FakeAudio:
    fake = FakeAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    monkeypatch.setattr(loudspeaker, "_PATIENCE_S", 0.05)
    return fake


@pytest.fixture
def wav(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "said.wav", np.zeros(100, np.int16), 22_050)
    return tmp_path / "said.wav"


def test_one_that_never_ends_or_fails_is_one_line(audio: FakeAudio, wav: Path) -> None:
    player = Loudspeaker()
    player.play(wav)
    audio.stuck = True
    with pytest.raises(Refusal, match="does not play") as stuck:
        player.play(wav)
    audio.playing = PortAudioError("Error\nquerying device -1")
    with pytest.raises(Refusal, match="Error querying device -1; plug one in, or run with --quiet") as failed:
        player.play(wav)
    assert stuck.value.code == failed.value.code == Exit.NO_VOICE


def test_what_is_no_longer_wanted_is_stopped(audio: FakeAudio, wav: Path) -> None:
    audio.stuck = True
    Loudspeaker().play(wav, lambda: False)
    assert audio.stopped == 1


def test_none_at_all_is_one_line(audio: FakeAudio) -> None:
    audio.none = True
    with pytest.raises(Refusal, match="loudspeaker: none found; plug one in") as none:
        Loudspeaker()
    assert none.value.code == Exit.NO_VOICE
