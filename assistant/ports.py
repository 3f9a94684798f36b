"""The ports: what the program asks of ears, voice, store and clock. One contract test each in tests/contracts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

from assistant.core.meaning import Candidate, Meaning
from assistant.core.tone import PLAIN, Tone

RATE = 16_000
"""Samples a second everywhere inside the program; one channel of signed 16-bit little-endian samples."""


@dataclass(frozen=True)
class Heard:
    """One utterance from its first to its last sample."""

    text: str
    """Words recognised, '' where only noise was heard; '[unk]' stands for speech outside the grammar."""
    meaning: Meaning | None
    """None where the ask's grammar does not accept the text."""
    score: float
    """0 to 1: how likely the meaning is right (speech/trust.py), 0 where there is none; without a calibration for the
    model the recogniser's least word confidence, which is not to be trusted alone."""
    start_s: float
    """Begin of speech, seconds from the begin of the stream."""
    end_s: float
    """End of speech, seconds from the begin of the stream."""
    maybe: tuple[Candidate, ...] = ()
    """Without a meaning: what it may have been, best first. With one: what sounds like it (thirteen, thirty)."""
    sound: bytes = field(default=b"", repr=False)
    """Its samples (RATE, mono, int16 LE), only where it was asked to keep them."""


class Listener(Protocol):
    """Hears one utterance at one ask."""

    @property
    def speaking(self) -> bool:
        """Somebody has begun to speak and has not ended yet."""

    def feed(self, block: bytes) -> Heard | None:
        """Take the next samples (RATE, mono, int16 LE, any length); the utterance once it has ended, else None."""

    def finish(self) -> Heard | None:
        """The stream has ended: what was heard so far, None where nobody spoke."""


class Ears(Protocol):
    """A recogniser with one grammar per ask."""

    def listen(self, ask: str) -> Listener:
        """A fresh listener under the grammar called `ask`."""


class Blocks(Protocol):
    """A microphone; entered, it is iterated once, by one thread, while another may leave it."""

    def __enter__(self) -> Self:
        """The microphone is there, or is being waited for."""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Give it back; the iteration ends."""

    def __iter__(self) -> Iterator[bytes]:
        """Sound as it comes (RATE, mono, int16 LE), an empty block at least every few seconds where none comes."""


class Voice(Protocol):
    """Text to sound."""

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        """A WAV file that says `text`; `helper` uses the second voice setting. Raises Refusal (NO_VOICE)."""

    def close(self) -> None:
        """End the worker behind the voice."""


class Clock(Protocol):
    """Wall time for people, monotonic time for durations."""

    def wall(self) -> str:
        """Local date and time with offset, ISO 8601 to the millisecond."""

    def monotonic_ms(self) -> int:
        """Milliseconds that never run backwards within one process."""


class Store(Protocol):
    """The job file seen from the session; rows are (event kind, JSON payload)."""

    def append(self, rows: Sequence[tuple[str, str]]) -> int:
        """Make the rows durable in one go, all or none; then return the last sequence number (from 1).

        Raises Refusal (NOT_WRITABLE) where they could not be made durable; then none of them is in the file.
        """

    def rows(self) -> Iterator[tuple[str, str]]:
        """Every row in order."""

    def close(self) -> None:
        """Give the job file back."""
