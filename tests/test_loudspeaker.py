"""The loudspeaker: a child process on a made-up PortAudio, and what the program makes of a child that fails."""

import contextlib
import io
import json
import queue
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from assistant import loudspeaker
from assistant.exits import Exit, Refusal
from assistant.loudspeaker import CHILD, Loudspeaker
from assistant.speech import loudspeaker_child

SCRIPTED = """
import json, pathlib, sys, time
notes, *plan = sys.argv[1:]
log = pathlib.Path(notes)
began = log.read_text().count("began") if log.exists() else 0
def note(text):
    with log.open("a") as file:
        print(text, file=file)
def tell(**told):
    print(json.dumps(told), flush=True)
note("began")
act = plan[min(began, len(plan) - 1)]
if act == "none":
    tell(error="none found")
    sys.exit()
tell(done=True)
for line in sys.stdin:
    order = json.loads(line)
    note("stop" if "stop" in order else pathlib.Path(order["play"]).name)
    if act == "long" and "play" in order or act == "hangs":
        continue
    if act == "gone":
        tell(error="Error querying device -1")
    elif act == "dies":
        sys.exit()
    else:
        tell(done=True)
"""
"""A child: one act for each time it is started, the last one again and again; it notes what it is ordered."""


class Bench:
    def __init__(self, folder: Path, *acts: str) -> None:
        self._notes = folder / "notes"
        self.command = (sys.executable, "-c", SCRIPTED, str(self._notes), *acts)

    @property
    def notes(self) -> list[str]:
        return self._notes.read_text().split()


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loudspeaker, "PATIENCE_S", 0.4)


@pytest.fixture
def wav(tmp_path: Path) -> Path:
    soundfile.write(tmp_path / "said.wav", np.zeros(500, np.int16), 22_050)
    return tmp_path / "said.wav"


@pytest.mark.parametrize("fails", ["gone", "hangs", "dies"])
def test_after_a_card_is_pulled_out_a_fresh_child_looks_what_there_is_now(
    fails: str, tmp_path: Path, wav: Path
) -> None:
    bench = Bench(tmp_path, fails, "plays")
    player = Loudspeaker(bench.command)
    player.play(wav)
    player.play(wav)
    player.close()
    assert bench.notes == ["began", "said.wav", "began", "said.wav", "said.wav"]


def test_one_that_fails_twice_is_one_line_and_is_looked_for_again_at_the_next_sound(tmp_path: Path, wav: Path) -> None:
    bench = Bench(tmp_path, "gone", "gone", "none", "hangs", "hangs", "plays")
    player = Loudspeaker(bench.command)
    with pytest.raises(
        Refusal, match=r"^loudspeaker: Error querying device -1; plug one in, or run with --quiet$"
    ) as gone:
        player.play(wav)
    assert gone.value.code is Exit.NO_VOICE
    with pytest.raises(Refusal, match=r"^loudspeaker: does not play; plug one in"):
        player.play(wav)
    with pytest.raises(Refusal, match=r"^loudspeaker: does not play; plug one in"):
        Loudspeaker(Bench(tmp_path, "hangs").command).play(wav)
    player.play(wav)
    player.close()


def test_what_is_no_longer_wanted_is_stopped(tmp_path: Path, wav: Path) -> None:
    bench = Bench(tmp_path, "long")
    player, begun = Loudspeaker(bench.command), time.monotonic()
    player.play(wav, lambda: time.monotonic() - begun < 0.1)
    player.close()
    assert bench.notes == ["began", "said.wav", "stop"]


def test_none_at_all_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match=r"^loudspeaker: none found; plug one in") as none:
        Loudspeaker(Bench(tmp_path, "none").command)
    assert none.value.code is Exit.NO_VOICE


def test_one_that_is_awaited_may_be_plugged_in_later(tmp_path: Path, wav: Path) -> None:
    bench = Bench(tmp_path, "none", "none", "plays")
    player = Loudspeaker(bench.command, awaited=True)
    with pytest.raises(Refusal, match=r"^loudspeaker: none found; plug one in, or run with --quiet$"):
        player.play(wav)
    player.play(wav)
    player.close()
    assert bench.notes == ["began", "began", "began", "said.wav"]


# --- The child itself ---------------------------------------------------------------------------------------------


class PortAudioError(Exception):
    pass


class FakeAudio:
    """Stands for the module sounddevice, and for its one stream."""

    PortAudioError = PortAudioError

    def __init__(self) -> None:
        self.playing: Exception | None = None
        self.none, self.written, self.done = False, 0, list[str]()

    def query_devices(self, kind: str) -> Any:
        if self.none:
            raise PortAudioError("Error querying device -1")

    def RawOutputStream(self, rate: int, channels: int, dtype: str, latency: float) -> "FakeAudio":  # noqa: N802
        self.written = 0
        self.done.append(f"open {rate} {channels} {dtype}")
        return self

    def __enter__(self) -> "FakeAudio":
        return self

    def __exit__(self, *ended: object) -> None:
        self.done.append(f"close after {self.written} bytes")

    def write(self, samples: bytes) -> None:
        if self.playing:
            raise self.playing
        self.written += len(samples)

    def abort(self) -> None:
        self.done.append("abort")


@pytest.fixture
def audio(monkeypatch: pytest.MonkeyPatch) -> FakeAudio:
    fake = FakeAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


class Orders(queue.SimpleQueue):  # type: ignore[type-arg]
    """Given one after the other; then the child's work ends."""

    def get(self, block: bool = True, timeout: float | None = None) -> Any:
        if timeout is None and self.empty():
            raise EOFError
        return super().get(block, timeout)


def answers(*orders: dict[str, Any]) -> list[Any]:
    given, out = Orders(), io.StringIO()
    loudspeaker_child.take((json.dumps(each) for each in orders), given)
    with contextlib.suppress(EOFError):
        loudspeaker_child.serve(given, out)
    return [json.loads(line) for line in out.getvalue().splitlines()]


def test_the_child_plays_to_the_end_and_stops_when_told(audio: FakeAudio, wav: Path) -> None:
    assert answers({"stop": True}, {"play": str(wav)}) == [{"done": True}, {"done": True}]
    assert audio.done == ["open 22050 1 int16", "close after 1000 bytes"]
    audio.done.clear()
    assert answers({"play": str(wav)}, {"stop": True}) == [{"done": True}, {"done": True}]
    assert audio.done == ["open 22050 1 int16", "abort", "close after 440 bytes"]


def test_the_child_tells_a_device_that_fails(audio: FakeAudio, wav: Path) -> None:
    audio.playing = PortAudioError("Error\nquerying device -1")
    assert answers({"play": str(wav)})[1] == {"error": "Error querying device -1"}
    audio.none = True
    assert answers() == [{"error": "none found"}]


def test_the_child_tells_a_missing_library(monkeypatch: pytest.MonkeyPatch) -> None:
    class Missing:
        def find_spec(self, name: str, *more: Any) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    (told,) = answers()
    assert told["error"].startswith("the system library PortAudio is missing; install it")


def test_its_cure_is_its_own(tmp_path: Path) -> None:
    tells = 'print(\'{"error": "the system library PortAudio is missing; install it"}\')'
    with pytest.raises(Refusal, match=r"^loudspeaker: the system library PortAudio is missing; install it$"):
        Loudspeaker((sys.executable, "-c", tells))


def test_the_real_child_ends_with_its_stdin() -> None:
    child = subprocess.run(CHILD, stdin=subprocess.DEVNULL, capture_output=True, timeout=20, check=False)
    assert child.returncode == 0
