"""espeak-ng's formant voices, for a small part of the training material: unlike people, but unlike the others, too."""

import ctypes
from random import Random

import numpy as np
import soxr
from numpy.typing import NDArray

from assistant.ports import RATE
from assistant.train.espeak import espeak

ACCENTS = "en-us en-gb en-gb-x-rp en-gb-scotland".split()
VARIANTS = (
    "m1 m2 m4 m5 m6 m8 f1 f3 f5 klatt klatt2 klatt3 klatt4 klatt6 whisper whisperf croak aunty grandma grandpa".split()
)
"""m3, m7, f2 and f4 are the exam's (assistant/hearing/script.py)."""
_RATE, _PITCH, _RANGE = 1, 3, 4
"""espeak-ng's parameters: words a minute, and per cent of its pitch and of how far that moves."""
_CALLBACK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


class Formant:
    """Speaks as one random voice after the other."""

    def __init__(self) -> None:
        self._library = espeak()
        self._rate = self._library.espeak_ng_GetSampleRate()
        self._made = list[NDArray[np.int16]]()
        self._keep = _CALLBACK(self._take)  # the library does not hold it
        self._library.espeak_SetSynthCallback(self._keep)

    def _take(self, samples: "ctypes._Pointer[ctypes.c_short]", count: int, _events: int) -> int:
        if samples and count:
            self._made.append(np.ctypeslib.as_array(samples, (count,)).copy())
        return 0

    def say(self, text: str, dice: Random) -> tuple[str, NDArray[np.int16]]:
        """(voice, samples at RATE, peak at 0.7 of full scale)."""
        name = f"{dice.choice(ACCENTS)}+{dice.choice(VARIANTS)}"
        self._library.espeak_SetVoiceByName(name.encode())
        for parameter, low, high in ((_RATE, 120, 200), (_PITCH, 30, 70), (_RANGE, 30, 80)):
            self._library.espeak_SetParameter(parameter, dice.randint(low, high), 0)
        self._made.clear()
        told = text.encode()
        self._library.espeak_Synth(told, len(told) + 1, 0, 1, 0, 1, None, None)
        self._library.espeak_Synchronize()
        sound = soxr.resample(np.concatenate(self._made).astype(np.float32) / 32768, self._rate, RATE)
        return name, np.asarray(sound / max(1e-3, float(np.abs(sound).max())) * 0.7 * 32767, np.int16)
