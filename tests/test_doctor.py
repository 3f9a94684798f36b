"""`pullcall doctor` with made-up devices: what passes, what is to be fixed, and by what one thing."""

import json
import os
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from datetime import UTC, datetime
from itertools import repeat
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from assistant.cli import main
from assistant.core.tone import PLAIN, Tone
from assistant.doctor import examine
from assistant.doctor_machine import clock_check, disk_check, machine_checks, model_check, pedal_check, terminal_check
from assistant.doctor_sound import SoundBench
from assistant.exits import Exit, Refusal
from assistant.finding import Finding
from assistant.screen.layout import fits
from assistant.speech.second_ear import weights_sum
from assistant.speech.two_ears import LateError

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
        return nullcontext(repeat(sound(level)))

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


class Slow(Devices):
    """A microphone whose sound begins seconds after it was opened, on a clock of its own."""

    def __init__(self, blocks: list[bytes]) -> None:
        super().__init__()
        self.blocks, self.now = blocks, 0.0

    def monotonic(self) -> float:
        return self.now

    def microphone(self) -> Any:
        return nullcontext(self._blocks())

    def _blocks(self) -> Iterator[bytes]:
        for block in self.blocks:
            self.now += len(block) / 2 / 16_000 if block else 0.5
            yield block


@pytest.fixture
def clocked(monkeypatch: pytest.MonkeyPatch) -> Callable[[Slow], SoundBench]:
    def bench(devices: Slow) -> SoundBench:
        monkeypatch.setattr("assistant.doctor_sound.time", SimpleNamespace(monotonic=devices.monotonic))
        return SoundBench(devices.microphone, devices.player, FakeVoice)

    return bench


NOTHING, SECOND = [b""] * 8, 31
"""Four seconds without a block; blocks a second."""


def test_two_seconds_of_sound_are_listened_to_however_late_they_come(clocked: Callable[[Slow], SoundBench]) -> None:
    devices = Slow([*NOTHING, *[sound(SOFT)] * SECOND, *[sound(CLIPPED)] * 100])
    bench = clocked(devices)
    assert bench.microphone().passed
    assert devices.now == pytest.approx(4 + 2, abs=0.04)
    assert bench.level().found == "peak -0 dB of full scale, clipped", "what comes in the second second is heard"


def test_the_voice_waits_for_a_slow_microphone(clocked: Callable[[Slow], SoundBench]) -> None:
    """Played while nothing is heard yet, it would be over before the first block."""
    devices = Slow([*NOTHING, *[sound(SOFT)] * 100])
    bench, begun = clocked(devices), list[float]()
    devices.play = lambda wav: begun.append(devices.now)  # type: ignore[method-assign]
    bench.microphone()
    bench.loudspeaker()
    devices.now = 0.0
    assert not bench.echo().passed, "nothing comes back here"
    assert begun[1] >= 4


@pytest.mark.parametrize(
    ("blocks", "told"),
    [
        ([b""] * 20, "no sound comes"),
        ([], "no sound comes"),
        ([*[sound(SOFT)] * SECOND, *[b""] * 20], "the sound stops"),
    ],
)
def test_a_microphone_that_brings_none_is_not_waited_for_for_ever(
    blocks: list[bytes], told: str, clocked: Callable[[Slow], SoundBench]
) -> None:
    devices = Slow([*blocks, *[sound(SOFT)] * 1000] if blocks else [])
    with pytest.raises(Refusal, match=f"^microphone: {told}.*; plug it in again$"):
        clocked(devices).microphone()
    assert devices.now < 8


def test_a_loudspeaker_that_fails_the_second_time_is_told() -> None:
    class Once(Devices):
        def play(self, wav: Path) -> None:
            super().play(wav)
            if self.played == 2:
                raise Refusal(Exit.NO_VOICE, "loudspeaker: does not play; plug one in")

    found = looked_at(Once())["echo"]
    assert (found.found, found.fix) == ("loudspeaker: does not play", "plug one in")


def test_the_voice_is_made_before_it_is_listened_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slow machine takes longer to its first word than is listened: nothing would be heard back."""
    done = list[str]()

    class Told(Devices):
        def microphone(self) -> Any:
            done.append("open")
            return super().microphone()

    class SlowVoice(FakeVoice):
        def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
            done.append("made")
            return super().speak(text, helper=helper, tone=tone)

    devices = Told()
    found = examine(SoundBench(devices.microphone, devices.player, SlowVoice).checks())
    assert all(each.passed for each in found)
    assert done == ["open", "made", "made", "open"]


def test_the_machine(tmp_path: Path) -> None:
    assert disk_check(tmp_path, lambda path: 10**9).passed
    assert disk_check(tmp_path, lambda path: 10**6).fix == "make room: 200 MB are wanted"
    assert clock_check(lambda: datetime(2030, 1, 1, tzinfo=UTC)).passed
    assert clock_check(lambda: datetime(1970, 1, 1, tzinfo=UTC)).fix == "set the machine's date and time"
    assert terminal_check(lambda: os.terminal_size((80, 24))).found.endswith("are 3 rows high")
    for size in ((79, 24), (80, 23)):
        assert not fits(*size), "the screen says that it is too small"
        found = terminal_check(lambda size=size: os.terminal_size(size))
        assert found.fix == "make the window at least 80 by 24, or use --plain"
    assert "F7" in pedal_check(("F7", "F8", "F9")).found


@pytest.mark.parametrize("wanted", [True, False])
def test_the_ears_are_those_of_a_job(wanted: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def damaged(folder: Path) -> None:
        raise Refusal(Exit.BAD_MODEL, "second ear model.bin: has a wrong checksum; install it again")

    monkeypatch.setattr("assistant.speech.second_ear.weights_folder", lambda: tmp_path)
    monkeypatch.setattr("assistant.speech.second_ear.check", damaged)
    (found,) = examine({"model": machine_checks(tmp_path, None, (), wanted)["model"]})
    assert found.passed != wanted
    assert found.fix == ("install it again" if wanted else "")


@pytest.mark.parametrize("late", [True, False])
def test_a_second_ear_too_slow_for_the_machine_is_told(late: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    def hear(*question: object) -> dict[str, float]:
        if late:
            raise LateError
        return {}

    ear = SimpleNamespace(name="a script", weights_sum=weights_sum(), hear=hear)
    monkeypatch.setattr("assistant.speech.second_ear.second_ear", lambda wanted: ear)
    found = model_check(None, second=True)
    assert found.passed is not late and "with a script, ready in" in found.found
    assert ("the second ear answers too late" in found.found, found.fix) == (
        late, "set second = false under [ears]" if late else ""
    )  # fmt: skip


@pytest.mark.parametrize(("passed", "code"), [(True, Exit.DONE), (False, Exit.FINDINGS)])
def test_the_command(
    passed: bool, code: Exit, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    finding = Finding("echo", passed, "heard" if passed else "not heard", "" if passed else "turn it up")
    monkeypatch.setenv("PULLCALL_SETTINGS", str(tmp_path / "none.toml"))
    monkeypatch.setattr("assistant.doctor.sound_checks", lambda device, rate: {"echo": lambda: finding})
    monkeypatch.setattr("assistant.doctor.machine_checks", lambda folder, model, pedal, second: {})
    assert main(["doctor"]) == code
    assert capsys.readouterr().out == f"{finding}\n"
    assert main(["doctor", "--json"]) == code
    (told,) = json.loads(capsys.readouterr().out)
    assert told == {"thing": "echo", "passed": passed, "found": finding.found, "fix": finding.fix}
