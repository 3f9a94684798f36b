"""The doctor's look at the sound: microphone, level, noise, loudspeaker, and its own voice on the way back."""

import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from math import log10
from pathlib import Path
from typing import Protocol

import numpy as np

from assistant.exits import Exit, Refusal
from assistant.finding import Check, Finding
from assistant.ports import RATE, Blocks, Voice

LISTEN_S = 2.0
"""Seconds of sound, however late the first of it comes."""
PATIENCE_S = 6.0
"""So long without a block, and none is waited for any more; even a slow device has brought its first by then."""
NOISE_DB = -35.0
"""Of full scale: words spoken at the level asked for (peaks above -30 dB) drown in more."""
FLOOR_DB = -120.0
ECHO_DB = 6.0
"""By so much more the own voice must be above the noise to be called heard."""
SENTENCE = "One, two, three. This is the voice of pullcall."


class Player(Protocol):
    """What plays a WAV."""

    def play(self, wav: Path) -> None:
        """To its end. Raises Refusal (NO_VOICE)."""


def sound_checks(device: str | None, rate: int) -> dict[str, Check]:
    """The checks on this machine's devices."""
    from assistant.loudspeaker import Loudspeaker
    from assistant.speech.microphone import Microphone
    from assistant.speech.voice import EspeakVoice

    bench = SoundBench(
        lambda: Microphone(device, lambda what, line: None), Loudspeaker, lambda to: EspeakVoice(to, rate=rate)
    )
    return bench.checks()


class SoundBench:
    """Opens each device once; a check whose device is missing says which."""

    def __init__(
        self, microphone: Callable[[], Blocks], player: Callable[[], Player], voice: Callable[[Path], Voice]
    ) -> None:
        """Nothing is opened yet. `microphone` and `player` may raise Refusal."""
        self._open, self._player, self._voice = microphone, player, voice
        self._quiet: np.ndarray[tuple[int], np.dtype[np.int16]] | None = None
        self._played = False

    def checks(self) -> dict[str, Check]:
        """In the order in which they build on each other."""
        return {
            "microphone": self.microphone,
            "level": self.level,
            "noise floor": self.noise,
            "loudspeaker": self.loudspeaker,
            "echo": self.echo,
        }

    def microphone(self) -> Finding:
        """Does sound come? Raises Refusal (BAD_AUDIO)."""
        with self._open() as blocks:
            name = str(getattr(blocks, "name", "microphone"))
            self._quiet = _samples(blocks, LISTEN_S)
        return Finding("microphone", True, f"'{name}' is heard")

    def level(self) -> Finding:
        """Neither digital silence nor clipped."""
        loud = np.abs(self._heard().astype(np.int32))
        told = f"peak {_db(float(loud.max(initial=0))):.0f} dB of full scale"
        if not loud.any():
            return Finding("level", False, "nothing but digital silence", "unmute the microphone or choose another")
        if np.mean(loud >= 32767) > 0.01:
            return Finding("level", False, f"{told}, clipped", "turn the microphone's level down")
        return Finding("level", True, told)

    def noise(self) -> Finding:
        """Quiet enough for words?"""
        found = _rms_db(self._heard())
        told = f"{found:.0f} dB of full scale"
        if found > NOISE_DB:
            return Finding("noise floor", False, told, "turn the microphone down, or wear one close to the mouth")
        return Finding("noise floor", True, told)

    def loudspeaker(self) -> Finding:
        """Does the voice play to its end? Raises Refusal (NO_VOICE)."""
        with self._spoken() as wav:
            self._player().play(wav)
        self._played = True
        return Finding("loudspeaker", True, "the voice was played to its end; was it heard?")

    def echo(self) -> Finding:
        """Does the microphone hear it? Then it is deaf while it speaks for a good reason; told either way."""
        before = _rms_db(self._heard())
        if not self._played:
            raise Refusal(Exit.NO_VOICE, "cannot be tried without a loudspeaker; mend the loudspeaker first")
        failed: list[Refusal] = []
        with self._spoken() as wav, self._open() as blocks:
            player = threading.Thread(target=self._play_aside, args=(wav, failed), daemon=True)
            rise = _rms_db(_samples(blocks, LISTEN_S, player.start)) - before
            player.join(10)
        if failed:
            raise failed[0]
        if rise < ECHO_DB:
            cure = "turn the loudspeaker up, or mind that with a headset this is right"
            return Finding("echo", False, f"the own voice was not heard back ({rise:+.0f} dB)", cure)
        return Finding(
            "echo", True, f"the own voice comes back {rise:.0f} dB above the noise; hearing pauses meanwhile"
        )

    def _heard(self) -> "np.ndarray[tuple[int], np.dtype[np.int16]]":
        if self._quiet is None:
            raise Refusal(Exit.BAD_AUDIO, "cannot be measured without a microphone; mend the microphone first")
        return self._quiet

    def _play_aside(self, wav: Path, failed: list[Refusal]) -> None:
        try:
            self._player().play(wav)
        except Refusal as refusal:
            failed.append(refusal)

    @contextmanager
    def _spoken(self) -> Iterator[Path]:
        """The sentence as sound: made before it is listened for, for a voice may take seconds to its first word."""
        with tempfile.TemporaryDirectory() as folder:
            voice = self._voice(Path(folder))
            try:
                yield voice.speak(SENTENCE)
            finally:
                voice.close()


def _samples(
    blocks: Iterable[bytes], length_s: float, begin: Callable[[], object] = lambda: None
) -> "np.ndarray[tuple[int], np.dtype[np.int16]]":
    """So many seconds of sound; `begin` is called once it comes. Raises Refusal (BAD_AUDIO) where it does not last."""
    kept, last = bytearray(), time.monotonic()
    for block in blocks:
        if block:
            last = time.monotonic()
            if not kept:
                begin()
            kept += block
            if len(kept) >= 2 * RATE * length_s:
                return np.frombuffer(bytes(kept), "<i2")
        elif time.monotonic() - last > PATIENCE_S:
            break
    told = "the sound stops" if kept else "no sound comes"
    raise Refusal(Exit.BAD_AUDIO, f"microphone: {told}; plug it in again")


def _rms_db(samples: "np.ndarray[tuple[int], np.dtype[np.int16]]") -> float:
    return _db(float(np.sqrt(np.mean(samples.astype(float) ** 2))))


def _db(value: float) -> float:
    return max(FLOOR_DB, 20 * log10(value / 32768)) if value > 0 else FLOOR_DB
