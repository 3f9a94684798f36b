"""The loudspeaker: plays a WAV to its end, or for as long as it is wanted."""

import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

from assistant.exits import Exit, Refusal

_STEP_S = 0.01
"""So soon a sound that is no longer wanted is ended."""
_AHEAD_S = 0.2
"""So much sound is handed on ahead, so that a busy machine does not break a word."""
_PATIENCE_S = 3.0
"""So long past the end of a sound, and the device is given up."""


class Loudspeaker:
    """One sound at a time, through PortAudio."""

    def __init__(self) -> None:
        """Raises Refusal (NO_VOICE) where there is no PortAudio or no loudspeaker."""
        self._audio = _portaudio()

    def play(self, wav: Path, wanted: Callable[[], bool] = lambda: True) -> None:
        """Play `wav` to its end, or until it is not wanted. Raises Refusal (NO_VOICE) for a device that fails."""
        import soundfile

        samples, rate = soundfile.read(wav, dtype="int16")
        try:
            self._audio.play(samples, rate, latency=_AHEAD_S)
            self._wait(len(samples) / rate, wanted)
        except (self._audio.PortAudioError, ValueError) as error:
            raise _refusal(" ".join(str(error).split())) from None

    def _wait(self, length_s: float, wanted: Callable[[], bool]) -> None:
        until = time.monotonic() + length_s + _PATIENCE_S
        while self._audio.get_stream().active and wanted():
            if time.monotonic() > until:
                raise _refusal("does not play")
            time.sleep(_STEP_S)
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
