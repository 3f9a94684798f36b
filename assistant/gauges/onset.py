"""Where a sound begins, where speech ends, where a recording lies in what was heard. Pure: samples in, places out."""

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float64]
"""One channel, 1 = full scale."""
AUDIBLE = 0.01
"""-40 dB of full scale: the first sample that loud is the first to be heard. Our choice."""
RANGE_DB = 30.0
"""Windows quieter than the loudest by more than this are no speech: as in `pullcall evaluate`."""
WINDOW_S = 0.01


def onset(sound: Sound, since: int = 0) -> int | None:
    """The first audible sample from `since` on; None for none."""
    loud = np.flatnonzero(np.abs(sound[since:]) >= AUDIBLE)
    return since + int(loud[0]) if loud.size else None


def speech_end(recording: Sound, rate: int) -> int:
    """One past the last sample of the speech in a recording without noise."""
    size = round(WINDOW_S * rate)
    padded = np.pad(recording, (0, -len(recording) % size)).reshape(-1, size)
    power = (padded**2).mean(axis=1)
    return min(len(recording), (int(np.flatnonzero(power > power.max() * 10 ** (-RANGE_DB / 10))[-1]) + 1) * size)


def place_of(recording: Sound, heard: Sound) -> int:
    """At which sample of what was heard the recording begins; it lies there whole, beside other sounds or not."""
    size = 1 << (len(heard) + len(recording)).bit_length()
    match = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(recording, size)), size)
    return int(np.argmax(match[: max(1, len(heard) - len(recording) + 1)]))


def reaction_s(recording: Sound, said: Sound, answered: Sound, rate: int) -> float | None:
    """Seconds from the end of the speech to the first audible sample of the answer; below 0 where it came before that.

    `said` and `answered` are what microphone and loudspeaker gave on one time line, from before the recording until
    after the answer; nothing is answered before the recording begins. None where no answer was heard.
    """
    end = speech_end(recording, rate)
    # Only up to the speech's end: a player cut off behind it does not matter.
    start = place_of(recording[:end], said)
    first = onset(answered, start)
    return None if first is None else (first - start - end) / rate
