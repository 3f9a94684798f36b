"""A room without walls: PulseAudio with a mouth, a microphone, a loudspeaker and the echo between them.

All sound of the room runs through one device of two channels, so that what is said and what is answered are recorded
sample by sample on one time line: left = what the microphone hears, right = what the loudspeaker says.
"""

import contextlib
import ctypes.util
import os
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal

RATE = 48_000
"""Samples a second of the room, as of an ordinary sound card."""
START_S = 10.0
TOOLS = {"pulseaudio": "pulseaudio"} | dict.fromkeys(("paplay", "pacat", "parec"), "pulseaudio-utils")
"""Program -> Debian's package."""
PLUGIN = "libasound_module_pcm_pulse.so"
_CHUNK = 4 * RATE // 100
"""Bytes read at a time: 10 ms of two channels."""
# norewinds: otherwise PortAudio is given hardly any sound. The room's own device is no default: nobody plays into both.
_SCRIPT = """\
load-module module-null-sink sink_name=room norewinds=1 rate={rate} channels=2 channel_map=front-left,front-right
load-module module-remap-sink sink_name=mouth master=room channels=1 channel_map=mono master_channel_map=front-left \
remix=no
load-module module-remap-sink sink_name=spk master=room channels=1 channel_map=mono master_channel_map=front-right \
remix=no
load-module module-remap-source source_name=mic master=room.monitor channels=1 channel_map=mono \
master_channel_map=front-left remix=no
set-default-sink spk
set-default-source mic
{echo}load-module module-native-protocol-unix socket={socket} auth-anonymous=1
"""
_ECHO = "load-module module-loopback source=spk.monitor sink=mouth latency_msec=50\n"
_DEVICES = "pcm.!default { type pulse }\nctl.!default { type pulse }\n"

Stereo = NDArray[np.int16]
"""Shape (samples, 2) at RATE: what the microphone hears, what the loudspeaker says."""


def missing() -> list[str]:
    """Debian packages that a room needs and this machine lacks; none where they would not help."""
    packages = {package for tool, package in TOOLS.items() if shutil.which(tool) is None}
    if not ctypes.util.find_library("portaudio"):
        packages.add("libportaudio2")
    if not list(Path("/usr/lib").glob(f"**/{PLUGIN}")):
        packages.add("libasound2-plugins")
    return sorted(packages)


class Recorder:
    """Everything that is heard in the room, from now on."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        order = ["parec", "-d", "room.monitor", "--raw", "--format=s16le", f"--rate={RATE}", "--channels=2"]
        self._child = subprocess.Popen([*order, "--latency-msec=20"], env=dict(environment), stdout=subprocess.PIPE)
        self._chunks: list[bytes] = []
        self._length = 0
        self._begin = float("inf")
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()

    def _keep(self) -> None:
        assert self._child.stdout is not None
        while data := self._child.stdout.read(_CHUNK):
            self._chunks.append(data)
            self._length += len(data) // 4
            # No sample arrives before it was heard: the earliest arrival so far tells best when the first one was.
            self._begin = min(self._begin, time.monotonic() - self._length / RATE)

    @property
    def length(self) -> int:
        """Samples so far."""
        return self._length

    def moment(self, sample: int) -> float:
        """When a sample was heard, on time.monotonic(), to some hundredths of a second."""
        return self._begin + sample / RATE

    def sound(self, start: int = 0, end: int | None = None) -> Stereo:
        """The samples from `start` to `end` (None = now)."""
        size = _CHUNK // 4
        first = start // size
        last = None if end is None else -(-end // size)
        whole = np.frombuffer(b"".join(self._chunks[first:last]), "<i2").reshape(-1, 2)
        return whole[start - first * size : None if end is None else end - first * size]

    def close(self) -> None:
        """Listen no more; what was heard is kept."""
        self._child.kill()
        self._child.wait()
        self._thread.join()


class Room:
    """The sound server of such a room; everything in it is started with `environment`."""

    def __init__(self, home: Path, *, echo: bool = True) -> None:
        """`home` is an empty folder. Raises Refusal (BAD_AUDIO) where something is missing."""
        if sys.platform != "linux" or missing():
            what = (
                f"it needs {', '.join(missing())}; apt install them" if sys.platform == "linux" else "run it on Linux"
            )
            raise Refusal(Exit.BAD_AUDIO, f"virtual microphone and loudspeaker: {what}")
        self.home = home
        # Settings and voice as they come: nobody's own file has a say. Compiled modules are kept, as on any machine.
        own = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        self.environment = own | {
            "HOME": str(home),
            "PULSE_RUNTIME_PATH": str(home),
            "XDG_RUNTIME_DIR": str(home),
            "PULLCALL_SETTINGS": str(home / "settings.toml"),
        }
        socket = home / "native"
        script = _SCRIPT.format(rate=RATE, socket=socket, echo=_ECHO if echo else "")
        (home / "room.pa").write_text(script, encoding="utf-8")
        (home / ".asoundrc").write_text(_DEVICES, encoding="utf-8")
        (home / "settings.toml").write_text("", encoding="utf-8")
        order = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--disable-shm=yes"]
        self._server = subprocess.Popen(
            [*order, "-F", str(home / "room.pa")], env=self.environment, stderr=subprocess.DEVNULL
        )
        self._noise: subprocess.Popen[bytes] | None = None
        self.environment["PULSE_SERVER"] = f"unix:{socket}"
        self._await(socket.exists)
        self.recorder = Recorder(self.environment)
        self._await(lambda: self.recorder.length > 0)

    def _await(self, true: Callable[[], bool]) -> None:
        until = time.monotonic() + START_S
        while not true():
            if time.monotonic() > until or self._server.poll() is not None:
                self._server.kill()
                raise Refusal(Exit.BAD_AUDIO, "virtual microphone and loudspeaker: pulseaudio does not start")
            time.sleep(0.01)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.hush()
        self.recorder.close()
        self._server.terminate()
        self._server.wait()

    def play(self, wav: Path, sink: str = "mouth") -> None:
        """A WAV to its end, in real time."""
        subprocess.run(["paplay", "-d", sink, str(wav)], env=self.environment, check=True, timeout=60)

    def make_noise(self, loop: NDArray[np.int16], rate: int) -> None:
        """Begin to play `loop` (mono) again and again into the microphone, beside whatever is said."""
        self.hush()
        order = ["pacat", "-d", "mouth", "--raw", "--format=s16le", f"--rate={rate}", "--channels=1"]
        self._noise = subprocess.Popen(order, env=self.environment, stdin=subprocess.PIPE)
        threading.Thread(target=_for_ever, args=(self._noise, loop.tobytes()), daemon=True).start()

    def hush(self) -> None:
        """End the noise."""
        if self._noise is not None:
            self._noise.kill()
            self._noise.wait()
            self._noise = None


def _for_ever(player: "subprocess.Popen[bytes]", sound: bytes) -> None:
    """Until the player is ended."""
    assert player.stdin is not None
    with contextlib.suppress(OSError, ValueError), player.stdin as pipe:
        while True:
            pipe.write(sound)
