"""`pullcall doctor` with made-up devices: what passes, what is to be fixed, and by what one thing."""

import json
import os
from collections.abc import Iterable
from contextlib import nullcontext
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.cli import main
from assistant.core.tone import PLAIN, Tone
from assistant.doctor import examine
from assistant.doctor_machine import clock_check, disk_check, pedal_check, terminal_check
from assistant.doctor_sound import SoundBench
from assistant.exits import Exit, Refusal
from assistant.finding import Finding

SILENCE, SOFT, LOUD, CLIPPED = 0, 30, 3000, 32767


def sound(level: int) -> bytes:
    return (np.sign(np.sin(np.arange(512))) * level).astype("<i2").tobytes()


class Devices:
    """A microphone that brings `quiet` at first and `later` from its second opening on, and a loudspeaker."""

    def __init__(self, quiet: int = SOFT, later: int = LOUD, lost: str = "") -> None:
        self.levels, self.lost, self.played = [quiet, later], lost, 0

    def microphone(self) -> Any:
        if self.lost == "microphone":
            raise Refusal(Exit.BAD_AUDIO, "microphone: none found; plug one in")
        level = self.levels.pop(0) if len(self.levels) > 1 else self.levels[0]
        blocks: Iterable[bytes] = (sound(level) for _ in range(4))
        return nullcontext(blocks)

    def player(self) -> "Devices":
        if self.lost == "loudspeaker":
            raise Refusal(Exit.NO_VOICE, "loudspeaker: none found; plug one in")
        return self

    def play(self, wav: Path) -> None:
        assert wav.read_bytes() == b"wav"
        self.played += 1


class FakeVoice:
    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        (self.folder / "a.wav").write_bytes(b"wav")
        return self.folder / "a.wav"

    def close(self) -> None:
        pass


def looked_at(devices: Devices) -> dict[str, Finding]:
    bench = SoundBench(devices.microphone, devices.player, FakeVoice)
    return {each.thing: each for each in examine(bench.checks())}


def to_fix(found: dict[str, Finding]) -> dict[str, str]:
    return {thing: each.fix for thing, each in found.items() if not each.passed}


def test_all_in_order() -> None:
    devices = Devices()
    found = looked_at(devices)
    assert to_fix(found) == {} and devices.played == 2
    assert found["echo"].found.startswith("the own voice comes back 40 dB above the noise")


@pytest.mark.parametrize(
    ("devices", "fixes"),
    [
        (Devices(quiet=SILENCE), {"level": "unmute the microphone or choose another"}),
        (Devices(quiet=CLIPPED, later=CLIPPED), {"level", "noise floor", "echo"}),
        (Devices(quiet=LOUD), {"noise floor", "echo"}),
        (Devices(later=SOFT), {"echo": "turn the loudspeaker up, or mind that with a headset this is right"}),
        (Devices(lost="loudspeaker"), {"loudspeaker": "plug one in", "echo": "mend the loudspeaker first"}),
        (
            Devices(lost="microphone"),
            {
                "microphone": "plug one in",
                "level": "mend the microphone first",
                "noise floor": "mend the microphone first",
                "echo": "mend the microphone first",
            },
        ),
    ],
)
def test_each_fault_has_its_one_thing_to_do(devices: Devices, fixes: dict[str, str] | set[str]) -> None:
    found = to_fix(looked_at(devices))
    assert (found if isinstance(fixes, dict) else set(found)) == fixes


def test_the_machine(tmp_path: Path) -> None:
    assert disk_check(tmp_path, lambda path: 10**9).passed
    assert disk_check(tmp_path, lambda path: 10**6).fix == "make room: 200 MB are wanted"
    assert clock_check(lambda: datetime(2030, 1, 1, tzinfo=UTC)).passed
    assert clock_check(lambda: datetime(1970, 1, 1, tzinfo=UTC)).fix == "set the machine's date and time"
    assert terminal_check(lambda: os.terminal_size((80, 24))).found.endswith("are 3 rows high")
    assert "--plain" in terminal_check(lambda: os.terminal_size((59, 24))).fix
    assert "--plain" in terminal_check(lambda: os.terminal_size((60, 19))).fix
    assert "F7" in pedal_check(("F7", "F8", "F9")).found


@pytest.mark.parametrize(("passed", "code"), [(True, Exit.DONE), (False, Exit.FINDINGS)])
def test_the_command(
    passed: bool, code: Exit, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    finding = Finding("echo", passed, "heard" if passed else "not heard", "" if passed else "turn it up")
    monkeypatch.setenv("PULLCALL_SETTINGS", str(tmp_path / "none.toml"))
    monkeypatch.setattr("assistant.doctor.sound_checks", lambda device, rate: {"echo": lambda: finding})
    monkeypatch.setattr("assistant.doctor.machine_checks", lambda folder, model, pedal: {})
    assert main(["doctor"]) == code
    assert capsys.readouterr().out == f"{finding}\n"
    assert main(["doctor", "--json"]) == code
    (told,) = json.loads(capsys.readouterr().out)
    assert told == {"thing": "echo", "passed": passed, "found": finding.found, "fix": finding.fix}
