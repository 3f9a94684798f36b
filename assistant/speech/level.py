"""Is an utterance loud enough, and not too loud, to be heard well?"""

from enum import Enum

import numpy as np

QUIET_PEAK = 1036
"""-30 dB of full scale: speech that peaks below it is heard worse (docs/measured.md)."""
CLIPPED_SHARE = 0.01
"""Share of samples at the rails above which words are lost."""
_RAIL = 32767


class Level(Enum):
    """What is wrong with a level; the value is the message's key."""

    CLIPPED = "level_clipped"
    QUIET = "level_quiet"


def level_hint(speech: bytes) -> Level | None:
    """What is wrong with the level of an utterance (mono, int16 LE); None where it is in order, or empty."""
    loud = np.abs(np.frombuffer(speech, "<i2").astype(np.int32))
    if not loud.size:
        return None
    if np.mean(loud >= _RAIL) > CLIPPED_SHARE:
        return Level.CLIPPED
    return Level.QUIET if loud.max() < QUIET_PEAK else None
