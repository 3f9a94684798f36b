"""Who speaks close by, before others who speak too: a radio, people in the room.

The voice activity detector hears speech in all of it, and no sentence of an ask holds what others say. Whoever kneels
beside the microphone is louder than they are. Loudness alone decides nothing: what it points at is heard once more, has
to be surer than otherwise, and a figure is asked about. docs/decisions/0016-close-by.md.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from assistant.ports import RATE, Heard, Listener
from assistant.speech.endpoint import WHOLE, WINDOW, Endpointer
from assistant.speech.grammars import grammar
from assistant.speech.understand import goes_on
from assistant.wariness import as_question, sure

MOMENT = 13
"""Windows over which loudness is taken, 0.42 s: longer than a syllable. The momentary loudness of EBU R 128 takes
0.4 s, with a weighting of frequencies that is left out here (from memory)."""
STEP = 10**0.5
"""5 dB: so far below the loudest moment one is still close by."""
LOUDEST = 5
"""Of the loudest moments this one counts as the top. A knock far louder than the voice still hides it."""
PAUSE = 12
"""Windows, 0.38 s: who pauses longer has ended, as far as loudness tells."""
AROUND = 6
"""Windows kept on either side, 0.19 s: soft first and last sounds."""
OTHERS = 10
"""Windows of speech outside, 0.32 s: fewer are the speaker's own soft sounds."""
OVER_S = 0.6
"""Seconds without the loud voice after which it is looked at, while others go on."""
LOOK_EVERY = 8
"""Windows, 0.26 s, between two looks while others go on."""

Windows = tuple[int, int]
"""The first, and the one behind the last."""


def close_by(sound: bytes, voiced: Sequence[bool]) -> Windows | None:
    """The longest loud stretch of an utterance (RATE, mono, int16 LE); None where nobody else speaks.

    `voiced`: in which of its windows of WINDOW samples somebody speaks.
    """
    if len(sound) < 2 * WINDOW * MOMENT:
        return None
    moments = _loudness(sound)
    loud = np.flatnonzero(moments >= np.sort(moments)[-LOUDEST] / STEP)
    breaks = [at for at, (one, other) in enumerate(pairwise(loud), 1) if other - one > PAUSE]
    stretch = max(np.split(loud, breaks), key=len)
    begin, end = max(0, int(stretch[0]) - AROUND), min(len(moments), int(stretch[-1]) + 1 + AROUND)
    others = sum(voiced[:begin]) + sum(voiced[end:])
    return (begin, end) if others >= OTHERS else None


def speaks_up(sound: bytes) -> bool:
    """Has somebody been louder, in the last OVER_S, than what was heard for most of the utterance?"""
    if len(sound) < 2 * WINDOW * MOMENT:
        return False
    moments = _loudness(sound)
    return bool(moments[-round(OVER_S * RATE / WINDOW) :].max() >= STEP * np.median(moments))


def _loudness(sound: bytes) -> NDArray[np.float32]:
    """Of each whole window: the power of the moment around it."""
    samples = np.frombuffer(sound, "<i2", len(sound) // (2 * WINDOW) * WINDOW).astype(np.float32)
    power = (samples.reshape(-1, WINDOW) ** 2).mean(axis=1)
    return np.convolve(power, np.full(MOMENT, 1 / MOMENT, np.float32), "same")


def quiet_s(stretch: Windows, voiced: Sequence[bool]) -> float:
    """Seconds since that stretch, without what is kept around it."""
    return (len(voiced) - stretch[1] + AROUND) * WINDOW / RATE


def all_of_it() -> Endpointer:
    """For a sound that was cut already."""
    return Endpointer(WHOLE, lambda window: 1.0)


class Nearest:
    """Hears what somebody close by said, without the others."""

    def __init__(self, ask: str, anew: Callable[[], Listener]) -> None:
        """`anew`: a fresh listener at `ask` to all of a sound."""
        self._ask, self._anew = ask, anew
        self._stretch: Windows | None = None
        self._heard: Heard | None = None

    def hear(self, sound: bytes, stretch: Windows) -> Heard | None:
        """That part of `sound`, where it is a sentence; as a question where it must not be taken.

        Whoever lets the voice sink is no longer the loudest: the part may be the begin or the end of what was said. So
        a figure is asked about, and so are words that may go on.
        """
        if stretch != self._stretch:
            listener = self._anew()
            listener.feed(sound[2 * WINDOW * stretch[0] : 2 * WINDOW * stretch[1]])
            heard = listener.finish()
            self._stretch, self._heard = stretch, self._judged(heard) if heard and heard.meaning else None
        return self._heard

    def _judged(self, heard: Heard) -> Heard:
        meaning = heard.meaning
        assert meaning is not None
        in_part = meaning.quantities or meaning.digits or goes_on(heard.text, grammar(self._ask))
        return as_question(heard) if in_part or heard.score < sure(1) else heard
