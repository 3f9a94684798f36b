"""Microphone and loudspeaker through PortAudio, half duplex: nothing is heard while the assistant speaks."""

import queue
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, TracebackType
from typing import Any, Self

import numpy as np

from assistant.exits import Exit, Refusal
from assistant.loudspeaker import Loudspeaker
from assistant.ports import RATE

BLOCK = 512
"""Samples a block: 32 ms."""
AFTER_SPEECH_BLOCKS = 12
"""Blocks dropped after the assistant has spoken, about 0.4 s: the room still rings with its voice."""
PATIENCE_S = 3.0
"""So long without a block, and the device is given up: PortAudio never finds an unplugged device again, so to wait on
would be to listen to nobody. A wireless headset may pause for a second or two."""
MUTED_BLOCKS = 160
"""So many blocks of nothing but zeros, 5 s, and the microphone is muted: a quiet room is never exactly zero."""
QUIET_PEAK = 1036
"""-30 dB of full scale: speech that peaks below it is heard worse (docs/measured.md)."""
CLIPPED_SHARE = 0.01
"""Share of samples at the rails above which words are lost."""


def level_hint(speech: bytes) -> str | None:
    """What is wrong with the level of an utterance (RATE, mono, int16 LE); None where it is in order."""
    loud = np.abs(np.frombuffer(speech, "<i2").astype(np.int32))
    if not loud.size:
        return None
    if np.mean(loud >= 32767) > CLIPPED_SHARE:
        return "too loud, words are clipped; turn its level down"
    if loud.max() < QUIET_PEAK:
        return "far too quiet; turn its level up or come closer"
    return None


class Microphone:
    """Blocks of RATE, mono, int16 LE from a device chosen by name."""

    def __init__(self, device: str | None = None) -> None:
        """`device` is part of a name; None = the system's own choice. Raises Refusal (BAD_AUDIO) for none."""
        self._audio = _portaudio()
        self._blocks: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._drop = self._muted = 0
        self._overflowed = False
        self._told: set[str] = set()
        self._loudspeaker: Loudspeaker | None = None
        chosen = _choose(self._audio, device)
        self.name: str = chosen["name"]
        """The device's whole name."""
        try:
            self._stream = self._audio.RawInputStream(
                samplerate=RATE,
                channels=1,
                dtype="int16",
                blocksize=BLOCK,
                device=chosen["index"],
                callback=self._take,
                finished_callback=lambda: self._blocks.put(None),
            )
        except (self._audio.PortAudioError, ValueError) as error:
            raise self._refusal(f"cannot be opened ({_one_line(error)}); known: {_known(self._audio)}") from None

    def _take(self, data: Any, frames: int, when: Any, status: Any) -> None:
        """Runs in PortAudio's thread: no more than noting."""
        self._overflowed |= bool(status.input_overflow)
        self._blocks.put(bytes(data))

    def __enter__(self) -> Self:
        try:
            self._stream.start()
        except self._audio.PortAudioError as error:
            self._stream.close()
            raise self._refusal(f"cannot be started ({_one_line(error)}); does another program hold it?") from None
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._audio.stop()
        self._stream.close()

    def __iter__(self) -> Iterator[bytes]:
        """Blocks as they come, without those that arrived while the assistant spoke; it never ends by itself.

        Raises Refusal (BAD_AUDIO) where the device brings nothing any more.
        """
        while True:
            try:
                block = self._blocks.get(timeout=PATIENCE_S)
            except queue.Empty:
                block = None
            if block is None:
                raise self._refusal("no sound comes any more; plug it in again and start again")
            self._watch(block)
            if self._drop:
                self._drop -= 1
            else:
                yield block

    def _watch(self, block: bytes) -> None:
        self._muted = 0 if any(block) else self._muted + 1
        if self._muted >= MUTED_BLOCKS:
            self._tell("brings nothing but digital silence; is it muted?")
        if self._overflowed:
            self._tell("some sound was lost; this machine is too busy")

    def judge(self, speech: bytes) -> None:
        """Tell on stderr, once a kind, when an utterance is clipped or far too quiet."""
        hint = level_hint(speech)
        if hint is not None:
            self._tell(hint)

    def _tell(self, trouble: str) -> None:
        if trouble not in self._told:
            self._told.add(trouble)
            print(f"pullcall: microphone '{self.name}': {trouble}", file=sys.stderr)

    def _refusal(self, trouble: str) -> Refusal:
        return Refusal(Exit.BAD_AUDIO, f"microphone '{self.name}': {trouble}")

    def play(self, wav: Path) -> None:
        """Say a WAV file to its end; what the microphone hears meanwhile is dropped. Raises Refusal (NO_VOICE)."""
        self._loudspeaker = self._loudspeaker or Loudspeaker()
        self._loudspeaker.play(wav)
        self._drop = self._blocks.qsize() + AFTER_SPEECH_BLOCKS


def _portaudio() -> ModuleType:
    """The sounddevice module; it fails at import where PortAudio is missing."""
    try:
        import sounddevice
    except OSError:
        cure = "install it (Debian, Ubuntu: libportaudio2), or try 'pullcall demo', which needs none"
        raise Refusal(Exit.BAD_AUDIO, f"microphone: the system library PortAudio is missing; {cure}") from None
    module: ModuleType = sounddevice
    return module


def _choose(audio: ModuleType, wanted: str | None) -> dict[str, Any]:
    """The device with that name, else the first whose name holds it, whatever the case."""
    if wanted is None:
        try:
            default: dict[str, Any] = audio.query_devices(kind="input")
        except (audio.PortAudioError, ValueError):
            cure = f"plug one in, or name one with --device; known: {_known(audio)}"
            raise Refusal(Exit.BAD_AUDIO, f"microphone: none found; {cure}") from None
        return default
    named = [each for each in _inputs(audio) if wanted.casefold() in each["name"].casefold()]
    if not wanted or not named:
        raise Refusal(Exit.BAD_AUDIO, f"microphone: none is called '{wanted}'; known: {_known(audio)}")
    return next((each for each in named if each["name"].casefold() == wanted.casefold()), named[0])


def _inputs(audio: ModuleType) -> list[dict[str, Any]]:
    return [each for each in audio.query_devices() if each["max_input_channels"] > 0]


def _known(audio: ModuleType) -> str:
    return ", ".join(dict.fromkeys(each["name"] for each in _inputs(audio))) or "none"


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())
