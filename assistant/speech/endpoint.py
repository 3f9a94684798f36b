"""Where an utterance begins and ends, by a voice activity detector.

Loudness has no say here: as a second opinion on the end it cut speech short in motor noise. Where others talk,
foreground.py asks it, and hears before it believes.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import numpy as np

from assistant.ports import RATE
from assistant.speech.detector import Silero

WINDOW = 512
"""Samples judged at a time: 32 ms."""
_WINDOW_S = WINDOW / RATE

Detector = Callable[[bytes], float]
"""WINDOW little-endian float32 samples -> likelihood of speech, 0 to 1."""


class More(Enum):
    """Are more words to come?"""

    NO = "no"
    UNKNOWN = "unknown"
    """Nothing that was said is understood so far."""
    MAYBE = "maybe"
    YES = "yes"


@dataclass(frozen=True)
class EndRule:
    """When speech has begun and when it has ended; seconds and likelihoods."""

    begin_at: float = 0.5
    """Likelihood of speech that begins an utterance."""
    go_on_at: float = 0.35
    """Likelihood that keeps it going."""
    silence_s: float = 0.3
    """So much without speech ends it."""
    ponder_s: float = 1.2
    """So much where more words may come, or nothing is understood: people breathe, and think, in a figure's middle."""
    pause_s: float = 1.5
    """So much where words are missing: nothing can be made of those so far."""
    slow_letter_s: float = 0.09
    """Seconds a letter from which speech is slow: who speaks like that pauses longer than `silence_s` in a sentence."""
    extra_letters: int = 3
    """Counted with the letters: the last sound of an utterance is drawn out, and short ones would all seem slow."""
    pre_roll_s: float = 0.3
    """So much before the begin belongs to it: soft first sounds."""
    longest_s: float = 8.0
    """A hard end in lasting noise or talk."""
    long_figure_s: float = 12.0
    """The same while words of the grammar come: nobody says a whole opening slowly in 8 s."""
    shortest_s: float = 0.12
    """Shorter bursts are knocks, not words."""


WHOLE = EndRule(begin_at=-1.0, go_on_at=-1.0, silence_s=1e6, longest_s=1e6, long_figure_s=1e6)
"""Everything is speech."""


class Endpointer:
    """Splits one utterance off a stream."""

    def __init__(self, rule: EndRule | None = None, detector: Detector | None = None) -> None:
        self._rule = rule or EndRule()
        self._likely = detector or Silero()
        self._rest = b""
        self._before: deque[bytes] = deque(maxlen=round(self._rule.pre_roll_s / _WINDOW_S))
        self._seen = 0
        self.wait_again()

    def wait_again(self) -> None:
        """Wait for the next utterance of the same stream."""
        self._spoken = 0
        self.start_s = 0.0
        """Begin of speech, seconds from the begin of the stream."""
        self.end_s = 0.0
        """End of the last speech in it."""
        self.speaking = False
        """An utterance is going on."""
        self.voiced = list[bool]()
        """Of each window of the utterance, pre-roll included: does somebody speak?"""
        self.ended = False
        """It is over; what is fed now waits for wait_again."""

    @property
    def knock(self) -> bool:
        """What was heard was too short for a word."""
        return self._spoken * _WINDOW_S < self._rule.shortest_s

    @property
    def quiet_s(self) -> float:
        """Seconds of sound since the last speech."""
        return self._seen * _WINDOW_S - self.end_s

    def slow(self, text: str) -> bool:
        """Were these words, all that were heard so far, spoken slowly? Pauses between them count."""
        letters = sum(map(len, text.split())) + self._rule.extra_letters
        return self.end_s - self.start_s >= letters * self._rule.slow_letter_s

    def feed(self, block: bytes, more: Callable[[], More] = lambda: More.NO) -> bytes:
        """The part of what was fed that belongs to the utterance, pre-roll included; b'' while nobody speaks.

        `more` is asked in a silence: are words to come? It is not kept: whoever answers holds this
        endpointer, and a recogniser that waits for the collector of such rings holds 10 MB.
        """
        self._rest += block
        utterance = b""
        while len(self._rest) >= 2 * WINDOW and not self.ended:
            window, self._rest = self._rest[: 2 * WINDOW], self._rest[2 * WINDOW :]
            utterance += self._window(window, more)
        return utterance

    def _window(self, window: bytes, more: Callable[[], More]) -> bytes:
        samples = (np.frombuffer(window, "<i2") / np.float32(32768)).astype("<f4")
        likely = self._likely(samples.tobytes())
        self._seen += 1
        now_s = self._seen * _WINDOW_S
        wanted = window
        if not self.speaking and likely >= self._rule.begin_at:
            wanted = b"".join(self._before) + window
            self._begin(now_s)
        self._before.append(window)
        if not self.speaking:
            return b""
        self._go_on(likely, now_s, more)
        return wanted

    def _begin(self, now_s: float) -> None:
        self.speaking = True
        self.voiced = [False] * len(self._before)
        self.start_s = now_s - _WINDOW_S

    def _go_on(self, likely: float, now_s: float, more: Callable[[], More]) -> None:
        self.voiced.append(likely >= self._rule.go_on_at)
        if self.voiced[-1]:
            self.end_s = now_s
            self._spoken += 1
        long_s = now_s - self.start_s
        overlong = long_s >= self._rule.longest_s and (
            long_s >= self._rule.long_figure_s or more() in (More.NO, More.UNKNOWN)
        )
        # Half a window of slack: sums of 32 ms are no exact tenths.
        quiet_s = self.quiet_s + _WINDOW_S / 2
        whole = quiet_s >= self._rule.silence_s and (quiet_s >= self._rule.pause_s or quiet_s >= self.wait_s(more()))
        self.ended = overlong or whole

    def wait_s(self, more: More) -> float:
        """So much without speech ends the utterance."""
        rule = self._rule
        if more is More.NO:
            return rule.silence_s
        return rule.pause_s if more is More.YES else rule.ponder_s
