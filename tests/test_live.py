"""`pullcall listen` for real: a virtual room of PulseAudio with a microphone, a loudspeaker and an echo between them.

Recordings are played into the microphone; what the loudspeaker says is recorded. The echo is the assistant's own voice
on its way back to the microphone, so every test here would also show a command taken from it.
"""

import contextlib
import ctypes.util
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import soundfile

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.exits import Exit
from assistant.orders import read_order
from assistant.ports import Heard
from assistant.record.clock import SystemClock
from assistant.record.codec import decode
from assistant.record.job_file import begin_job, resume_job
from assistant.shelf import recordings_folder
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand
from assistant.speech.voice import EspeakVoice
from assistant.wording import messages
from assistant.workplace import ALARMS
from tests.conftest import SETUP

DEMO = recordings_folder() / "demo"
RATE = 22_050
"""Of the virtual loudspeaker: that of the voice's files, so that what is heard is sample for sample what was spoken."""
QUIET_S = 1.2
"""So long without a sound and the assistant has ended its turn; between two lines of one turn it is shorter."""
PULL = [sys.executable, "-c", "import sys; from assistant.cli import main; sys.exit(main())"]

PLUGIN = "libasound_module_pcm_pulse.so"

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


def missing() -> list[str]:
    """What a virtual room needs and this machine lacks."""
    tools = [each for each in ("pulseaudio", "paplay", "parec") if shutil.which(each) is None]
    libraries = [] if ctypes.util.find_library("portaudio") else ["libportaudio2"]
    plugins = [] if list(Path("/usr/lib").glob(f"**/{PLUGIN}")) else [PLUGIN]
    return [*tools, *libraries, *plugins] if sys.platform == "linux" else ["Linux"]


pytestmark = pytest.mark.skipif(bool(missing()), reason=f"no virtual microphone here, it needs: {', '.join(missing())}")


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

    def close(self) -> None:
        self.loudspeaker.close()
        self._server.terminate()
        self._server.wait()


class Session:
    """A running `pullcall listen`, or another command that listens."""

    def __init__(self, room: Room, job: Path, *more: str, command: str = "listen") -> None:
        self._room = room
        self._turn = time.monotonic()
        self.child = subprocess.Popen(
            [*PULL, command, str(job), *more] if command == "listen" else [*PULL, command, *more],
            env=room.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            start_new_session=True,
        )
        self.lines: list[str] = []
        """stdout so far."""
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()

    def _keep(self) -> None:
        assert self.child.stdout is not None
        for line in self.child.stdout:
            self.lines.append(line.strip())

    def listens(self) -> "Session":
        """Wait until the assistant has said what it says now, and is silent again."""

        def silent() -> bool:
            loud = self._room.loudspeaker.loud(self._turn)
            return bool(loud) and time.monotonic() - loud[-1] > QUIET_S

        wait_for(silent, "an answer at the loudspeaker")
        self._turn = time.monotonic()
        return self

    def hear(self, recording: str, gain: float = 1.0) -> str:
        """What it understood of a recording; waits for its answer, too."""
        before = len(self.lines)
        self._room.say(recording, gain)
        self.listens()
        return next((line for line in self.lines[before:] if line.startswith("heard:")), "nothing").removeprefix(
            "heard:  "
        )

    def end(self, how: signal.Signals | None = None) -> tuple[int, str]:
        """Exit code and stderr; `how` goes to the whole group, as a terminal's Ctrl-C does."""
        if how is not None:
            os.killpg(self.child.pid, how)
        assert self.child.stderr is not None
        code = self.child.wait(timeout=20)
        self._thread.join()
        return code, self.child.stderr.read()


def wait_for(true: Callable[[], bool], what: str, timeout_s: float = 25.0) -> None:
    until = time.monotonic() + timeout_s
    while not true():
        assert time.monotonic() < until, f"waited in vain for {what}"
        time.sleep(0.02)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


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


def test_a_gap_in_the_sound_is_told_from_words_cut_off(tmp_path: Path) -> None:
    sound = (np.random.default_rng(7).normal(0, 3000, 2 * RATE)).astype(np.int16)
    soundfile.write(tmp_path / "said.wav", sound, RATE)
    silence, cut = np.zeros(RATE // 4, np.int16), RATE * 3 // 10

    def like(*heard: npt.NDArray[np.int16]) -> float:
        return likeness(tmp_path / "said.wav", np.concatenate([silence, *heard, silence]))

    assert like(sound) > 0.99
    assert like(sound[:RATE], silence, sound[RATE:]) > 0.9
    for broken in (sound[cut:], sound[:-cut], sound[:RATE], silence):
        assert like(broken) < 0.5


def test_a_killed_and_an_interrupted_session_resume_at_the_same_question(room: Room, tmp_path: Path) -> None:
    job = begun(tmp_path / "hall.job")
    first = Session(room, job).listens()
    question = first.lines[-2:]
    room.say("18.ogg")
    wait_for(lambda: "heard:  three quarters" in first.lines, "three quarters")
    assert first.end(signal.SIGKILL)[0] == -signal.SIGKILL

    second = Session(room, job, "--device", "VMIC")
    wait_for(lambda: len(second.lines) >= len(question), "the question")  # a busy machine pauses between its lines
    second.listens()
    assert second.lines == question
    assert second.hear("19.ogg") == "one and an eighth"
    code, told = second.end(signal.SIGINT)
    assert code == Exit.STOPPED
    assert told.splitlines() == [
        f"pullcall: listening with 'vmic', job in {job}; Ctrl-C stops",
        f"pullcall: the job is kept; 'pullcall listen {job}' resumes it",
        "pullcall: stopped",
    ]
    assert said(job) == ["three quarters", "one and an eighth"], "own voice taken, or a recording lost"


def test_the_finished_job_leaves_its_report_and_every_answer_is_heard_whole(room: Room, tmp_path: Path) -> None:
    job = begun(tmp_path / "hall.job", "skip doorway")
    session = Session(room, job).listens()
    for gain in (1.0, 0.25, 0.4, 0.6):  # as a person says it again
        if session.hear("53.ogg", gain) == "finish job":
            break
    code, told = session.end()
    assert code == Exit.DONE, told
    shown = [line for line in session.lines if line.startswith("pullcall:")]
    assert shown[-1].startswith("pullcall: Job code: ")
    assert (tmp_path / "hall.html").exists()

    cache = tmp_path / "hall-files" / "voice"
    spoken = sorted({*cache.glob("*.wav")} - unheard_alarms(cache))
    assert len(spoken) == len(set(shown))
    heard = room.loudspeaker.samples()
    # 1.0 on an idle machine; where a busy one breaks the sound, the tenth of a second with the gap in it counts less.
    assert min(likeness(each, heard) for each in spoken) > 0.8


def unheard_alarms(cache: Path) -> set[Path]:
    """What is kept ready for a disk that fails."""
    with contextlib.closing(EspeakVoice(cache, rate=200)) as voice:
        return {voice.speak(messages()[each][0]) for each in ALARMS}


def test_a_wrong_device_name_is_one_line_that_names_the_devices(room: Room, tmp_path: Path) -> None:
    code, told = Session(room, tmp_path / "hall.job", "--device", "nobody").end()
    assert code == Exit.BAD_AUDIO
    assert told.startswith("pullcall: microphone: none is called 'nobody'; known: ")
    assert "vmic" in told
    assert told.count("\n") == 1
    assert not (tmp_path / "hall.job").exists()


def test_practice_is_spoken(room: Room, tmp_path: Path) -> None:
    """`pullcall practice --voice`: a bite's mark is printed, the learner says it, the assistant answers aloud."""
    folder = tmp_path / "practice"
    session = Session(room, folder, "--voice", "--out", str(folder), "--device", "vmic", command="practice")
    session.listens()
    before = len(session.lines)
    room.say("14.ogg")
    session.listens()
    room.say("19.ogg")
    session.listens()
    said = [each.removeprefix("you:").strip() for each in session.lines[before:] if each.startswith("you:")]
    assert said == ["ready", "one and an eighth"]
    assert any("the mark has moved" in each for each in session.lines)
    code, _ = session.end(signal.SIGINT)
    assert code == Exit.STOPPED
    assert next(folder.glob("*.job")).exists()
