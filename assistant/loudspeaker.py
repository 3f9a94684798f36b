"""The loudspeaker: plays a WAV to its end, or for as long as it is wanted.

PortAudio lists the devices when it begins and goes on naming one that is gone. So it lives in a child process, and
after a failure a fresh one looks what there is now.
"""

import sys
import wave
from collections.abc import Callable, Sequence
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.speech import voice_process
from assistant.speech.voice_process import VoiceProcess, WorkerLate, WorkerLost

CHILD = (sys.executable, "-P", str(Path(voice_process.__file__).with_name("loudspeaker_child.py")))
"""By path and with -P, as the voice's worker."""
PATIENCE_S = 3.0
"""So long past the end of a sound, and the device is given up."""
START_S = 5.0
"""A child may take so long to look for one."""


class Loudspeaker:
    """One sound at a time."""

    def __init__(self, command: Sequence[str] = CHILD, *, awaited: bool = False) -> None:
        """Raises Refusal (NO_VOICE) where there is no PortAudio or no loudspeaker, unless it is `awaited`."""
        self._process = VoiceProcess(command, PATIENCE_S, START_S)
        if awaited:
            return
        try:
            self._process.begin()
        except WorkerLost as lost:
            raise _refusal(lost) from None

    def play(self, wav: Path, wanted: Callable[[], bool] = lambda: True) -> None:
        """Play `wav`, 16-bit samples, to its end, or until it is not wanted.

        Where the device fails it is looked for once more: another one, or the same plugged in again, plays it instead.
        Raises Refusal (NO_VOICE) where that fails, too.
        """
        with wave.open(str(wav), "rb") as sound:
            longest_s = sound.getnframes() / sound.getframerate() + PATIENCE_S
        order = {"play": str(wav)}
        try:
            self._process.ask(order, longest_s, wanted)
        except WorkerLost:
            try:
                self._process.ask(order, longest_s, wanted)
            except WorkerLost as lost:
                raise _refusal(lost) from None

    def close(self) -> None:
        """End the child."""
        self._process.close()


def _refusal(lost: WorkerLost) -> Refusal:
    told = "does not play" if isinstance(lost, WorkerLate) else str(lost)
    return Refusal(
        Exit.NO_VOICE, f"loudspeaker: {told if '; ' in told else f'{told}; plug one in, or run with --quiet'}"
    )
