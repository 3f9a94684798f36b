"""A virtual room of PulseAudio for the live tests: a microphone, a loudspeaker, an echo between them, and who is in it.

Recordings are played into the microphone; what the loudspeaker says is recorded. The echo is the assistant's own voice
on its way back to the microphone, so every test in it would also show a command taken from it.
"""

import os
import signal
import subprocess
import sys
import threading
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.orders import read_order
from assistant.ports import Heard
from assistant.record.clock import SystemClock
from assistant.record.codec import decode
from assistant.record.job_file import begin_job, resume_job
from assistant.shelf import recordings_folder
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand
from tests.conftest import SETUP

DEMO = recordings_folder() / "demo"
RATE = 22_050
"""Of the virtual loudspeaker: that of the voice's files, so that what is heard is sample for sample what was spoken."""
QUIET_S = 1.2
"""So long without a sound and the assistant has ended its turn; between two lines of one turn it is shorter."""
STILL_S = 0.5
"""So long without a sound and what the sound server still held has been played."""
HEARD_WITHIN_S, TRIES = 8.0, 3
"""A machine too busy to hear in time is spoken to again, as a person does it; pytest's summary tells how often."""
HEARD = ("heard:", "not understood:", "you:")
"""What a line begins with that tells what was heard."""
PULL = [sys.executable, "-c", "import sys; from assistant.cli import main; sys.exit(main())"]

SCRIPT = """\
load-module module-null-sink sink_name=mic norewinds=1 rate=16000 channels=1
load-module module-null-sink sink_name=spk norewinds=1 rate={rate} channels=1
set-default-sink spk
set-default-source mic.monitor
load-module module-loopback source=spk.monitor sink=mic latency_msec=50
load-module module-native-protocol-unix socket={socket} auth-anonymous=1
"""
DEVICES = """\
pcm.vmic { type pulse device "mic.monitor" }
pcm.vspk { type pulse device "spk" }
"""


class Recorder:
    """What is heard at one place, from now on."""

    def __init__(self, source: str, environment: dict[str, str], rate: int) -> None:
        order = [
            "parec",
            "-d",
            source,
            "--raw",
            "--format=s16le",
            f"--rate={rate}",
            "--channels=1",
            "--latency-msec=20",
        ]
        self._child = subprocess.Popen(order, env=environment, stdout=subprocess.PIPE)
        self.chunks: list[tuple[float, npt.NDArray[np.int16]]] = []
        """Time of arrival (monotonic) and samples."""
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()

    def _keep(self) -> None:
        assert self._child.stdout is not None
        while data := self._child.stdout.read(640):
            self.chunks.append((time.monotonic(), np.frombuffer(data[: len(data) // 2 * 2], "<i2")))

    def samples(self) -> npt.NDArray[np.int16]:
        return np.concatenate([samples for _, samples in list(self.chunks)])

    def loud(self, since: float) -> list[float]:
        """When something was to be heard."""
        return [at for at, samples in list(self.chunks) if at > since and np.abs(samples.astype(int)).max() > 300]

    def close(self) -> None:
        self._child.kill()
        self._child.wait()
        self._thread.join()


class Room:
    """A microphone, a loudspeaker, and the way between them."""

    def __init__(self, home: Path) -> None:
        self.home = home
        server = f"unix:{home / 'native'}"
        self.environment = os.environ | {
            "HOME": str(home),
            "PULSE_RUNTIME_PATH": str(home),
            "XDG_RUNTIME_DIR": str(home),
            "PULSE_SERVER": server,
            "PULLCALL_SETTINGS": str(home / "settings.toml"),
        }
        (home / "room.pa").write_text(SCRIPT.format(rate=RATE, socket=home / "native"), encoding="utf-8")
        (home / "settings.toml").write_text("[voice]\nrate = 200\n", encoding="utf-8")
        (home / ".asoundrc").write_text(DEVICES, encoding="utf-8")
        order = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--disable-shm=yes"]
        self._server = subprocess.Popen(
            [*order, "-F", str(home / "room.pa")],
            env={name: value for name, value in self.environment.items() if name != "PULSE_SERVER"},
            stderr=subprocess.DEVNULL,
        )
        wait_for(lambda: (home / "native").exists(), "pulseaudio")
        self.loudspeaker = Recorder("spk.monitor", self.environment, RATE)
        wait_for(lambda: bool(self.loudspeaker.chunks), "the loudspeaker's monitor")

    def say(self, recording: str, gain: float = 1.0) -> None:
        """Play a demo recording into the microphone, to its end."""
        samples, rate = soundfile.read(DEMO / recording, dtype="float32")
        file = self.home / "said.wav"
        soundfile.write(file, samples * gain, rate)
        subprocess.run(["paplay", "-d", "mic", str(file)], env=self.environment, check=True, timeout=20)

    def still(self) -> None:
        """Wait until nothing has been heard from the loudspeaker for a while."""
        start = time.monotonic()
        wait_for(lambda: time.monotonic() - max([start, *self.loudspeaker.loud(start)]) > STILL_S, "a still room")

    def close(self) -> None:
        self.loudspeaker.close()
        self._server.terminate()
        self._server.wait()


class Program:
    """A running `pullcall` in a room: what it prints and when, and what is typed to it."""

    def __init__(self, room: Room, *options: str) -> None:
        self.room = room
        self._turn = time.monotonic()
        self.child = subprocess.Popen(
            [*PULL, *options],
            env=room.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            start_new_session=True,
        )
        self.timed: list[tuple[float, str]] = []
        """When (monotonic) and what it printed, talk included."""
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()

    def _keep(self) -> None:
        assert self.child.stdout is not None
        for line in self.child.stdout:
            self.timed.append((time.monotonic(), line.strip()))

    @property
    def lines(self) -> list[str]:
        """What it printed so far."""
        return [line for _, line in list(self.timed)]

    def when(self, part: str, since: float = 0.0) -> float:
        """When a line with `part` came, which is waited for."""
        found: list[float] = []

        def there() -> bool:
            found[:] = [at for at, line in list(self.timed) if part in line and at > since]
            return bool(found)

        wait_for(there, f"'{part}'; got: {self.lines[-8:]}")
        return found[0]

    def silent(self, for_s: float = QUIET_S, since: float = 0.0) -> "Program":
        """Wait until it has said what it says now, and is silent again; what was said before `since` is not counted."""

        def quiet() -> bool:
            loud = self.room.loudspeaker.loud(max(self._turn, since))
            return bool(loud) and time.monotonic() - loud[-1] > for_s

        wait_for(quiet, f"silence after speech; got: {self.lines[-8:]}")
        self._turn = time.monotonic()
        return self

    def hear(self, recording: str, gain: float = 1.0) -> str:
        """What it understood of a recording; waits for its answer, too."""
        heard = self.take(recording, gain)
        self.silent()
        return heard

    def take(self, recording: str, gain: float = 1.0) -> str:
        """What it understood of a recording, as soon as it is printed."""
        before = len(self.lines)
        for again in range(TRIES):
            if again:
                warnings.warn(f"{recording} was not heard and is said again", stacklevel=2)
            self.room.say(recording, gain)
            until = time.monotonic() + HEARD_WITHIN_S
            while time.monotonic() < until:
                if heard := [line for line in self.lines[before:] if line.startswith(HEARD)]:
                    self._turn = time.monotonic()
                    return heard[0].partition(":")[2].strip()
                time.sleep(0.02)
        return "nothing"

    def type(self, line: str) -> None:
        """One line on the keyboard."""
        assert self.child.stdin is not None
        self._turn = time.monotonic()
        self.child.stdin.write(f"{line}\n")
        self.child.stdin.flush()

    def end(self, how: signal.Signals | None = None) -> int:
        """Exit code after a signal to the whole group, as a terminal's Ctrl-C is one, or after the end of the input."""
        assert self.child.stdin is not None
        if how is None:
            self.child.stdin.close()
        else:
            os.killpg(self.child.pid, how)
        code = self.child.wait(timeout=30)
        self._thread.join()
        self.room.still()  # what the sound server still holds of its voice is not the next program's
        return code


def job(room: Room, path: Path, *options: str) -> Program:
    """`pullcall` in plain lines at a job."""
    return Program(room, "--plain", "--job", str(path), "--device", "vmic", *options)


def wait_for(true: Callable[[], bool], what: str, timeout_s: float = 25.0) -> None:
    until = time.monotonic() + timeout_s
    while not true():
        assert time.monotonic() < until, f"waited in vain for {what}"
        time.sleep(0.02)


def begun(path: Path, *sentences: str) -> Path:
    """A job begun by words, for a short test; and then `sentences` again and again until only the closing is left."""
    job = begin_job(path, SystemClock())
    conversation = Conversation(job, lambda wording, tone: None, ev.Started("test", "none", read_order()))

    def take(text: str) -> None:
        assert conversation.ask is not None
        conversation.take(Heard(text, understand(text, grammar(conversation.ask.grammar)), 1.0, 0.0, 1.0))

    for text in SETUP:
        take(text)
    while sentences and conversation.ask is not None and conversation.ask.grammar != "close":
        take("ready" if conversation.ask.grammar == "ready" else sentences[0])
    job.close()
    return path


def said(path: Path) -> list[str]:
    """Every utterance in the log that came by sound."""
    job = resume_job(path, SystemClock())
    events = [decode(kind, payload) for kind, payload in job.rows()]
    job.close()
    return [each.text for each in events if isinstance(each, ev.Said)][len(SETUP) :]


PIECE = RATE // 10
DROPOUT = RATE // 2


def likeness(wav: Path, heard: npt.NDArray[np.int16]) -> float:
    """How much of what a file says was heard, in its order: mean correlation of its tenths of a second, at most 1.

    The begin and the end count as much as all the rest: the least of the three. A busy machine's gap between two
    tenths, up to DROPOUT samples, does not count, for the sound goes on after it where it stopped.
    """
    spoken = soundfile.read(wav, dtype="float64")[0]
    audible = np.flatnonzero(np.abs(spoken) > 0.01)
    spoken = spoken[audible[0] : audible[-1] + 1]
    recorded = heard / 32768.0
    size = 1 << (len(recorded) + len(spoken)).bit_length()
    # What two places have in common tells where it is, broken by gaps or not.
    match = np.fft.irfft(np.fft.rfft(recorded, size) * np.conj(np.fft.rfft(spoken, size)), size)
    place = max(0, int(np.argmax(match[: len(recorded)])) - DROPOUT)
    found: list[float] = []
    for at in range(0, len(spoken) - PIECE + 1, PIECE):
        piece = spoken[at : at + PIECE]
        if np.abs(piece).max() > 0.01:  # a pause is like any other
            best, place = _nearest(piece, recorded, place)
            found.append(best)
    return min(float(np.mean(found)), *(max(found[part]) for part in (slice(0, 2), slice(-2, None))))


def _nearest(piece: npt.NDArray[np.float64], recorded: npt.NDArray[np.float64], place: int) -> tuple[float, int]:
    """Correlation at the best place from `place` on, within a dropout, and where the piece ends there."""
    window = recorded[place : place + 2 * DROPOUT + len(piece)]
    if len(window) < len(piece):
        return 0.0, place
    products = np.correlate(window, piece)
    energy = np.concatenate(([0.0], np.cumsum(window**2)))
    power = np.maximum(energy[len(piece) :] - energy[: -len(piece)], 1e-9)
    likes = products / np.sqrt(power) / max(1e-9, float(np.linalg.norm(piece)))
    at = int(np.argmax(likes))
    if likes[at] < 0.5:
        return max(0.0, float(likes[at])), place  # broken or missing: the next is looked for from here on
    return float(likes[at]), place + at + len(piece)
