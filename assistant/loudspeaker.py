"""The loudspeaker: plays a WAV to its end, or until it is hushed."""

import threading
import time
from pathlib import Path
from types import ModuleType
from typing import Any

from assistant.exits import Exit, Refusal

_PATIENCE_S = 3.0
"""So long past the end of a sound, and the device is given up."""


class Loudspeaker:
    """One sound at a time, through PortAudio."""

    def __init__(self) -> None:
        """Raises Refusal (NO_VOICE) where there is no PortAudio or no loudspeaker."""
        self._audio = _portaudio()
        self._hushed = threading.Event()

    def play(self, wav: Path) -> None:
        """Play `wav` to its end. Raises Refusal (NO_VOICE) for a device that fails."""
        import soundfile

        self._hushed.clear()
        samples, rate = soundfile.read(wav, dtype="int16")
        try:
            self._audio.play(samples, rate)
            self._wait(len(samples) / rate)
        except (self._audio.PortAudioError, ValueError) as error:
            raise _refusal(" ".join(str(error).split())) from None

    def hush(self) -> None:
        """End the sound that plays, from any thread."""
        self._hushed.set()

    def _wait(self, length_s: float) -> None:
        until = time.monotonic() + length_s + _PATIENCE_S
        while self._audio.get_stream().active and not self._hushed.wait(0.01):
            if time.monotonic() > until:
                raise _refusal("does not play")
        # abort, not the end of what is queued: a tap silences at once
        self._audio.stop(ignore_errors=True)


def _refusal(trouble: str) -> Refusal:
    return Refusal(Exit.NO_VOICE, f"loudspeaker: {trouble}; plug one in, or run with --quiet")


def _portaudio() -> ModuleType:
    try:
        import sounddevice
    except OSError:
        cure = "install it (Debian, Ubuntu: libportaudio2)"
        raise Refusal(Exit.NO_VOICE, f"loudspeaker: the system library PortAudio is missing; {cure}") from None
    module: Any = sounddevice
    try:
        module.query_devices(kind="output")
    except (module.PortAudioError, ValueError):
        raise _refusal("none found") from None
    found: ModuleType = module
    return found
