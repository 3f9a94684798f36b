"""Microphone and loudspeaker through PortAudio, half duplex: nothing is heard while the assistant speaks."""

import queue
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, TracebackType
from typing import Any, Self

from assistant.exits import Exit, Refusal
from assistant.ports import RATE

BLOCK = 512
"""Samples a block: 32 ms."""
AFTER_SPEECH_BLOCKS = 12
"""Blocks dropped after the assistant has spoken, about 0.4 s: the room still rings with its voice."""


def _portaudio() -> ModuleType:
    """The sounddevice module; it fails at import where PortAudio is missing."""
    try:
        import sounddevice
    except OSError:
        cure = "install it (Debian, Ubuntu: libportaudio2), or try 'pullcall demo', which needs none"
        raise Refusal(Exit.BAD_AUDIO, f"microphone: the system library PortAudio is missing; {cure}") from None
    module: ModuleType = sounddevice
    return module


class Microphone:
    """Blocks of RATE, mono, int16 LE from a device chosen by name."""

    def __init__(self, device: str | None = None) -> None:
        """`device` is part of a name; None = the system's own choice. Raises Refusal where there is none."""
        self._audio = _portaudio()
        self._blocks: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._drop = 0
        try:
            self._stream = self._audio.RawInputStream(
                samplerate=RATE, channels=1, dtype="int16", blocksize=BLOCK, device=device, callback=self._take
            )
        except (self._audio.PortAudioError, ValueError) as error:
            known = ", ".join(each["name"] for each in self._audio.query_devices() if each["max_input_channels"])
            raise Refusal(Exit.BAD_AUDIO, f"microphone: {error}; known: {known or 'none'}") from None

    def _take(self, data: Any, frames: int, when: Any, status: Any) -> None:
        self._blocks.put(bytes(data))

    def __enter__(self) -> Self:
        self._stream.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stream.close()

    def __iter__(self) -> Iterator[bytes]:
        """Blocks as they come, without those that arrived while the assistant spoke."""
        while True:
            block = self._blocks.get()
            if self._drop:
                self._drop -= 1
            else:
                yield block

    def play(self, wav: Path) -> None:
        """Say a WAV file to its end; what the microphone hears meanwhile is dropped."""
        import soundfile

        samples, rate = soundfile.read(wav, dtype="int16")
        self._audio.play(samples, rate, blocking=True)
        self._drop = self._blocks.qsize() + AFTER_SPEECH_BLOCKS
