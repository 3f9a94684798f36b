"""R14 through the virtual room of tests/live_room.py: the microphone goes mid-word, the job goes on, it comes back."""

import contextlib
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit
from tests.gauges.virtual import needs_room
from tests.live_room import DEMO, Room, begun, job, said

pytestmark = needs_room
MIC = ("module-null-sink", "sink_name=mic", "norewinds=1", "rate=16000", "channels=1")
ECHO = ("module-loopback", "source=spk.monitor", "sink=mic", "latency_msec=50")
NOTICED_S = 1.0


@pytest.fixture
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


@pytest.fixture
def plug(room: Room) -> Iterator[Callable[[], None]]:
    """Plug the microphone in, with the faint noise any real one has.

    Zeros alone are taken for a muted microphone, looked for anew ever more rarely, and what is said
    just then is not heard.
    """
    rate = 16_000
    hiss = np.random.default_rng(6).normal(0, 3e-4, 60 * rate)
    soundfile.write(room.home / "hiss.wav", hiss, rate)
    players: list[subprocess.Popen[bytes]] = []

    def plug_in() -> None:
        pactl(room, "load-module", *MIC)
        pactl(room, "load-module", *ECHO)
        players.append(subprocess.Popen(["paplay", "-d", "mic", str(room.home / "hiss.wav")], env=room.environment))

    yield plug_in
    for each in players:
        each.kill()
        each.wait()


def pactl(room: Room, *order: str) -> str:
    done = subprocess.run(["pactl", *order], env=room.environment, check=True, capture_output=True, text=True)
    return done.stdout


def unplug(room: Room) -> None:
    """The echo's way goes first: the sound server would lead it from the loudspeaker into the loudspeaker."""
    modules = [line.split("\t") for line in pactl(room, "list", "short", "modules").splitlines()]
    for name, what in ((ECHO[0], ECHO[1]), (MIC[0], MIC[1])):
        (number,) = (each[0] for each in modules if each[1] == name and what in each[2])
        pactl(room, "unload-module", number)


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
    room: Room, plug: Callable[[], None], tmp_path: Path, voice_too: bool
) -> None:
    path = begun(tmp_path / "hall.job")
    program = job(room, path).silent()
    word = begin_a_word(room)
    if voice_too:
        kill_voice(program.child.pid)
    gone = time.monotonic()
    unplug(room)
    word.kill()  # the sound server would move it to the loudspeaker, and the listening to the loudspeaker's monitor
    word.wait()
    assert program.when("muted or unplugged", gone) - gone < NOTICED_S
    program.type("one and a half")
    program.when("heard: one and a half", gone)
    lost = program.when("no sound comes any more", gone)

    back = time.monotonic()
    plug()
    program.when("is heard", back)
    program.silent(since=lost)  # the warning is spoken, and meanwhile the ears are deaf
    assert program.take("19.ogg") == "one and an eighth"
    assert program.end() == Exit.DONE
    assert said(path) == ["one and a half", "one and an eighth"], "half a word taken, or the own voice"


def test_a_microphone_plugged_in_after_the_start_is_found_and_heard(
    room: Room, plug: Callable[[], None], tmp_path: Path
) -> None:
    unplug(room)
    path = begun(tmp_path / "hall.job")
    program = job(room, path)
    program.when("microphone: ")
    program.silent()
    program.type("one and a half")
    program.when("heard: one and a half")

    plug()
    program.when("is heard")
    program.silent()
    assert program.take("19.ogg") == "one and an eighth"
    assert program.end() == Exit.DONE
    assert said(path) == ["one and a half", "one and an eighth"]


def kill_voice(parent: int) -> None:
    """SIGKILL for the voice's worker of that program, and for no other."""
    children = Path(f"/proc/{parent}/task").glob("*/children")
    found = [int(each) for file in children for each in file.read_text().split()]
    workers = [each for each in found if b"voice_worker" in Path(f"/proc/{each}/cmdline").read_bytes()]
    assert workers, "no worker behind the voice"
    for each in workers:
        subprocess.run(["kill", f"-{signal.SIGKILL.value}", str(each)], check=True)
