"""The measuring itself through the virtual room: a delay that is known because it was played."""

import shutil
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli import main
from assistant.exits import Exit, Refusal
from assistant.gauges.live import LiveBench, Spoken, live_parts
from assistant.gauges.onset import Sound, onset, speech_end
from assistant.gauges.program import Program
from assistant.gauges.room import RATE, Room, missing
from tests.gauges.virtual import needs_room

DELAY_S = 0.5

# It asks aloud, and tells as heard whatever is typed: the test types what it plays.
SCRIPTED = """
import subprocess, sys, time
print("\\nJob number?", flush=True)
time.sleep(0.3)
subprocess.run(["paplay", "-d", "spk", "../beep.wav"])
for line in sys.stdin:
    print("heard: " + line.strip(), flush=True)
"""


def beep(length_s: float = 0.3) -> Sound:
    found: Sound = 0.3 * np.cos(2 * np.pi * 440 * np.arange(round(length_s * RATE)) / RATE)
    return found


def word() -> Sound:
    found: Sound = np.random.default_rng(4).normal(0, 0.1, RATE // 2)
    return np.concatenate([found, np.zeros(RATE // 4)])


class Scripted(Room):
    """Where the answer is played together with the word, DELAY_S after its end: no program can be late with it."""

    program: Program

    def play(self, wav: Path, sink: str = "mouth") -> None:
        said, _ = soundfile.read(wav)
        both = np.zeros((len(said) + 2 * RATE, 2))
        both[: len(said), 0] = said
        begin = speech_end(said, RATE) + round(DELAY_S * RATE)
        both[begin : begin + len(beep()), 1] = beep()
        soundfile.write(self.home / "both.wav", both, RATE)
        self.program.type("three quarters")
        super().play(self.home / "both.wav", "room")


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Scripted]:
    with Scripted(tmp_path) as room:
        soundfile.write(tmp_path / "beep.wav", beep(), RATE)
        yield room


@needs_room
def test_a_known_delay_is_measured_through_the_devices(room: Scripted) -> None:
    bench = LiveBench(room, [sys.executable, "-c", SCRIPTED])
    room.program, start = bench.begin("job")
    # The question is printed 0.3 s before it is spoken, more than a moment's hundredths of a second.
    assert 0 < start.printed_s < start.audible_s
    spoken = bench.say(room.program, word(), "three quarters")
    assert spoken.reaction_s is not None
    assert spoken.reaction_s == pytest.approx(DELAY_S, abs=0.02)
    assert spoken.heard == spoken.text
    assert room.program.end() == 0


@needs_room
def test_the_moment_of_a_sound_is_known(room: Scripted) -> None:
    """Between its player's start and end, to some hundredths: what is said about the start of a program leans on it."""
    before, begun = room.recorder.length, time.monotonic()
    Room.play(room, room.home / "beep.wav", "spk")
    first = onset(room.recorder.sound(before)[:, 1] / 32768.0)
    assert first is not None
    assert begun - 0.05 < room.recorder.moment(before + first) < time.monotonic() + 0.05


@needs_room
def test_the_microphone_hears_the_mouth_and_the_echo_the_loudspeaker_only_itself(room: Scripted) -> None:
    before = room.recorder.length
    Room.play(room, room.home / "beep.wav", "mouth")
    heard = np.abs(room.recorder.sound(before)).max(axis=0) / 32768
    assert heard[0] == pytest.approx(0.3, rel=0.05) and heard[1] == 0
    before = room.recorder.length
    Room.play(room, room.home / "beep.wav", "spk")
    time.sleep(0.3)  # the echo's way
    heard = np.abs(room.recorder.sound(before)).max(axis=0) / 32768
    assert heard == pytest.approx([0.3, 0.3], rel=0.2)  # the loopback's resampler swings at the edges


def test_what_is_missing_is_named_with_the_cure(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(shutil, "which", lambda tool: None)
    assert {"pulseaudio", "pulseaudio-utils"} <= set(missing())
    with pytest.raises(Refusal):
        Room(Path("nowhere"))
    assert main(["bench", "--live"]) == Exit.BAD_AUDIO
    told = capsys.readouterr().err
    assert told.startswith("pullcall: virtual microphone and loudspeaker: it needs ") and told.count("\n") == 1
    assert "pulseaudio, pulseaudio-utils" in told and "apt install" in told


def test_the_parts_of_many_delays() -> None:
    """p50 and p95 against numpy's own."""
    delays = np.random.default_rng(8).uniform(0.3, 1.4, 41)
    spoken = [Spoken("yes", "yes", each, each - 0.1) for each in delays]
    spoken += [Spoken("no", "", None, None), Spoken("yes", "no", -0.2, None)]
    spoken += [Spoken("who has my van", "(something else)", 9.0, 9.0, noisy=True)]
    found = {each.name: each for each in live_parts(spoken, 2)}
    half, most = (found[f"end of speech to first audible sample, {each} of 41"] for each in ("p50", "p95"))
    assert half.value == pytest.approx(float(np.percentile(delays, 50)))
    assert most.value == pytest.approx(float(np.percentile(delays, 95)))
    assert (half.bar, most.bar) == (0.8, 1.2)
    assert half.verdict.split()[0] == ("pass" if half.value <= 0.8 else "SHORT")
    assert found["of 44 recordings, not answered"].value == 1
    assert found["of 43 without noise, answered before their end"].value == 1
    assert found["of 44 recordings, heard with other words"].value == 2
    assert found["heard though nobody spoke: own voice or noise"].value == 2
    assert "SHORT" in str(found["of 44 recordings, not answered"])


def test_nothing_measured_is_no_pass() -> None:
    found = list(live_parts([Spoken("yes", "", None, None)], 0))
    assert str(found[0]).split()[-2] == "SHORT"
