"""R14 through the virtual room of tests/test_live.py: the microphone goes mid-word, the job goes on, it comes back."""

import contextlib
import signal
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit
from tests.test_live import DEMO, PULL, Room, begun, missing, said, wait_for

pytestmark = pytest.mark.skipif(bool(missing()), reason=f"no virtual microphone here, it needs: {', '.join(missing())}")
MIC = ("module-null-sink", "sink_name=mic", "norewinds=1", "rate=16000", "channels=1")
ECHO = ("module-loopback", "source=spk.monitor", "sink=mic", "latency_msec=50")
NOTICED_S = 1.0


@pytest.fixture
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


def pactl(room: Room, *order: str) -> str:
    done = subprocess.run(["pactl", *order], env=room.environment, check=True, capture_output=True, text=True)
    return done.stdout


def unplug(room: Room) -> None:
    """The echo's way goes first: the sound server would lead it from the loudspeaker into the loudspeaker."""
    modules = [line.split("\t") for line in pactl(room, "list", "short", "modules").splitlines()]
    for name, what in ((ECHO[0], ECHO[1]), (MIC[0], MIC[1])):
        (number,) = (each[0] for each in modules if each[1] == name and what in each[2])
        pactl(room, "unload-module", number)


def plug(room: Room) -> None:
    pactl(room, "load-module", *MIC)
    pactl(room, "load-module", *ECHO)


class Job:
    """A running `pullcall --plain`, with the time at which each line came."""

    def __init__(self, room: Room, path: Path) -> None:
        self.child = subprocess.Popen(
            [*PULL, "--plain", "--job", str(path), "--device", "vmic"],
            env=room.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
        )
        self.lines: list[tuple[float, str]] = []
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()

    def _keep(self) -> None:
        assert self.child.stdout is not None
        for line in self.child.stdout:
            self.lines.append((time.monotonic(), line.strip()))

    def when(self, part: str, since: float = 0.0) -> float:
        """When a line with `part` came."""
        found: list[float] = []

        def there() -> bool:
            found[:] = [at for at, line in list(self.lines) if part in line and at > since]
            return bool(found)

        wait_for(there, f"'{part}'; got: {[line for _, line in self.lines][-8:]}")
        return found[0]

    def type(self, line: str) -> None:
        assert self.child.stdin is not None
        self.child.stdin.write(f"{line}\n")
        self.child.stdin.flush()
        self.when(f"heard: {line}")

    def end(self) -> int:
        assert self.child.stdin is not None
        self.child.stdin.close()
        return self.child.wait(timeout=20)


def silent(room: Room, since: float) -> None:
    def quiet() -> bool:
        loud = room.loudspeaker.loud(since)
        return bool(loud) and time.monotonic() - loud[-1] > 1.2

    wait_for(quiet, "silence after speech")


def begin_a_word(room: Room) -> "subprocess.Popen[bytes]":
    """Speech is under way when this returns, and noise goes on for seconds after it: no pause of its own."""
    word, rate = soundfile.read(DEMO / "18.ogg", dtype="float32")
    noise = np.random.default_rng(5).normal(0, 0.01, 8 * rate).astype("float32")
    noise[: len(word)] += word
    soundfile.write(room.home / "word.wav", noise, rate)
    order = ["paplay", "-d", "mic", str(room.home / "word.wav")]
    player = subprocess.Popen(order, env=room.environment, stderr=subprocess.DEVNULL)
    time.sleep(0.6)
    return player


@pytest.mark.parametrize("voice_too", [False, True], ids=["microphone", "microphone and voice"])
def test_r14_a_microphone_that_goes_mid_word_is_noticed_and_heard_again(
    room: Room, tmp_path: Path, voice_too: bool
) -> None:
    path = begun(tmp_path / "hall.job")
    start = time.monotonic()
    job = Job(room, path)
    silent(room, start)
    word = begin_a_word(room)
    if voice_too:
        kill_voice(job.child.pid)
    gone = time.monotonic()
    unplug(room)
    word.kill()  # the sound server would move it to the loudspeaker, and the listening to the loudspeaker's monitor
    word.wait()
    assert job.when("muted or unplugged", gone) - gone < NOTICED_S
    job.type("one and a half")
    job.when("no sound comes any more", gone)

    back = time.monotonic()
    plug(room)
    job.when("is heard again", back)
    silent(room, back)
    room.say("19.ogg")
    job.when("heard: one and an eighth", back)
    assert job.end() == Exit.DONE
    assert said(path) == ["one and a half", "one and an eighth"], "half a word taken, or the own voice"


def kill_voice(parent: int) -> None:
    """SIGKILL for the voice's worker of that program, and for no other."""
    children = Path(f"/proc/{parent}/task").glob("*/children")
    found = [int(each) for file in children for each in file.read_text().split()]
    workers = [each for each in found if b"voice_worker" in Path(f"/proc/{each}/cmdline").read_bytes()]
    assert workers, "no worker behind the voice"
    for each in workers:
        subprocess.run(["kill", f"-{signal.SIGKILL.value}", str(each)], check=True)
