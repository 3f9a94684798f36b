"""Adapters of the Voice port: text to WAV, offline, with a worker process that may hang or die without harm."""

import contextlib
import hashlib
import json
import os
import tempfile
import wave
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from assistant.core.tone import PLAIN, Tone
from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.speech.voice_process import START_S, VoiceProcess, WorkerLost

RATE_LEAST, RATE_DEFAULT, RATE_MOST = 120, 155, 220
"""Words a minute: voice.md's range and default."""

RATE_STEP = 15
"""Words a minute that 'faster' adds."""
VOLUME_STEP = 1.2
"""Factor of 'louder', 1.6 dB; espeak-ng clips above about twice its own loudness."""

UTTERANCE_S = 5.0
"""An utterance takes 0.05 s, on a loaded machine perhaps one: who takes longer hangs."""


@dataclass(frozen=True)
class VoiceSetting:
    """How one of the two voices sounds."""

    voice: str
    """espeak-ng language, with a variant after '+'."""
    pitch: int
    """espeak-ng pitch, 0 to 99; 50 is the voice's own."""
    rate: int
    """Words a minute."""
    volume: float = 1.0
    """1 = as loud as espeak-ng speaks by itself."""


INSTALLER = VoiceSetting("en-us", 50, RATE_DEFAULT)
"""Speaks to the installer."""
HELPER = VoiceSetting("en-us+f3", 62, RATE_DEFAULT)
"""Calls out to the helper at the other end: another voice, so that each knows who is meant."""


class EspeakVoice:
    """pyttsx3 with espeak-ng in a child process; what was said once is kept as a WAV in a folder.

    WAV: mono, signed 16 bit, 22,050 samples a second.
    """

    def __init__(
        self,
        cache: Path,
        *,
        rate: int = RATE_DEFAULT,
        command: Sequence[str] | None = None,
        timeout_s: float = UTTERANCE_S,
        start_s: float = START_S,
    ) -> None:
        """Keep WAVs in `cache` (made on first use); `rate` is 120 to 220 words a minute.

        `command` starts another worker than ours (tests), `timeout_s` is the longest wait for one utterance, `start_s`
        for the worker to be ready.
        Raises ValueError for a rate out of range.
        """
        if not RATE_LEAST <= rate <= RATE_MOST:
            raise ValueError(f"rate {rate}: must be {RATE_LEAST} to {RATE_MOST} words a minute")
        self._cache, self._rate = cache, rate
        self._process = VoiceProcess(command, timeout_s, start_s)

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        """A WAV that says `text`. Raises Refusal: NO_VOICE after two failed tries, NOT_WRITABLE for the folder."""
        setting = toned(replace(HELPER if helper else INSTALLER, rate=self._rate), tone)
        file = self._cache / f"{_key(text, setting)}.wav"
        if _holds_sound(file):
            return file
        with _written_whole(file) as part:
            if text.strip():
                self._save(text, setting, part)
            else:
                _write_silence(part)
        return file

    def close(self) -> None:
        """End the worker; the voice starts a new one if it is asked again."""
        self._process.close()

    def _save(self, text: str, setting: VoiceSetting, file: Path) -> None:
        order = {"text": text, "file": str(file), **asdict(setting)}
        try:
            self._try(order, file)
        except WorkerLost:
            try:
                self._try(order, file)
            except WorkerLost as lost:
                raise Refusal(
                    Exit.NO_VOICE, f"voice: {lost}; run with --quiet, or install pyttsx3 and espeakng-loader again"
                ) from None

    def _try(self, order: dict[str, object], file: Path) -> None:
        self._process.ask(order)
        if not _holds_sound(file):
            self._process.close()
            raise WorkerLost("the worker wrote no sound")


class SilentVoice:
    """For --quiet: the same port, a tenth of a second of silence."""

    def __init__(self, cache: Path) -> None:
        """Keep the one silent WAV in `cache`."""
        self._file = cache / "silence.wav"

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        """The silent WAV whatever the text. Raises Refusal (NOT_WRITABLE)."""
        if not _holds_sound(self._file):
            with _written_whole(self._file) as part:
                _write_silence(part)
        return self._file

    def close(self) -> None:
        """Nothing is behind it."""


def toned(setting: VoiceSetting, tone: Tone) -> VoiceSetting:
    """The setting with the steps that were asked for; the rate stays within its range."""
    rate = max(RATE_LEAST, min(RATE_MOST, setting.rate + RATE_STEP * tone.pace))
    return replace(setting, rate=rate, volume=round(setting.volume * VOLUME_STEP**tone.loudness, 3))


def _key(text: str, setting: VoiceSetting) -> str:
    said = json.dumps([text, asdict(setting)], sort_keys=True)
    return hashlib.sha256(said.encode()).hexdigest()[:32]


@contextlib.contextmanager
def _written_whole(file: Path) -> Iterator[Path]:
    """A hidden file beside `file` that takes its name only when complete and on the disk: a battery may die."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".", suffix=".wav", dir=file.parent)
        os.close(handle)
        part = Path(name)
        try:
            yield part
            with part.open("rb+") as whole:
                os.fsync(whole.fileno())
            part.replace(file)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise Refusal(
            Exit.NOT_WRITABLE, f"voice folder {file.parent}: cannot be written ({error.strerror or error})"
        ) from None


def _write_silence(file: Path) -> None:
    with wave.open(str(file), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(RATE)
        sound.writeframes(bytes(RATE // 10 * 2))


def _holds_sound(file: Path) -> bool:
    """Is it a WAV with sound in it, and nothing cut off?"""
    try:
        with wave.open(str(file), "rb") as sound:
            count = sound.getnframes()
            return 0 < count * sound.getnchannels() * sound.getsampwidth() == len(sound.readframes(count))
    except (OSError, EOFError, wave.Error):
        return False
