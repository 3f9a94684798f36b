"""A hiss under the sound, like a quiet room's: no training speech has the digital silence of a noise gate.

Behind exact zeros a network takes what it would hear well for other speech. Always the same hiss, so that a recording
is always heard alike.
"""

import numpy as np
from numpy.typing import NDArray

HISS = 2.0
"""Deviation of the noise, of 32768."""
LIMITS = -32768, 32767


class Hiss:
    """The noise under one stream of sound."""

    def __init__(self) -> None:
        self._dice = np.random.default_rng(0)

    def under(self, sound: bytes) -> NDArray[np.float32]:
        """Samples of `sound` (16-bit little-endian) with the next stretch of the hiss under them."""
        samples = np.frombuffer(sound, "<i2").astype(np.float32)
        return samples + np.float32(HISS) * self._dice.standard_normal(len(samples), np.float32)

    def laid_under(self, sound: bytes) -> bytes:
        """The same, rounded to 16 bits again."""
        return np.rint(self.under(sound)).clip(*LIMITS).astype("<i2").tobytes()
