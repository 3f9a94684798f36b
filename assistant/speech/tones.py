"""The sound of the four cues, made from sums of sines: the same samples every time, short, and never loud.

Told apart by direction and rhythm as well as by pitch, and all below 1 kHz, where hearing that has suffered from
machines suffers least (design choice, from memory; no source was looked up).
"""

import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.cues import Cue
from assistant.exits import Exit, Refusal
from assistant.ports import RATE

PEAK = 0.25
"""Of full scale: 12 dB below it, about as loud as the voice."""
_FADE_S = 0.008
"""Of every note's begin and end: without it they click."""
_NOTES: dict[Cue, tuple[tuple[float, float], ...]] = {
    Cue.TAKEN: ((784.0, 0.08),),
    Cue.ASKED: ((523.0, 0.07), (392.0, 0.09)),
    Cue.WARNING: ((880.0, 0.05), (0.0, 0.025), (880.0, 0.05), (0.0, 0.025), (880.0, 0.05)),
    Cue.DONE: ((523.0, 0.06), (659.0, 0.06), (784.0, 0.08)),
}
"""(Hz, seconds) one after the other; 0 Hz = silence."""


def samples(cue: Cue) -> NDArray[np.int16]:
    """The tone, RATE, mono."""
    return np.concatenate([_note(hertz, seconds) for hertz, seconds in _NOTES[cue]])


def _note(hertz: float, seconds: float) -> NDArray[np.int16]:
    count, fade = round(seconds * RATE), round(_FADE_S * RATE)
    tone = np.sin(2 * np.pi * hertz * np.arange(count) / RATE)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(fade) / fade)
    tone[:fade] *= rise
    tone[-fade:] *= rise[::-1]
    return np.round(tone * PEAK * 32767).astype(np.int16)


def write_tones(folder: Path) -> dict[Cue, Path]:
    """Their WAV files in `folder`. Raises Refusal (NOT_WRITABLE)."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        files = {cue: folder / f"{cue.name.lower()}.wav" for cue in Cue}
        for cue, file in files.items():
            with wave.open(str(file), "wb") as sound:
                sound.setparams((1, 2, RATE, 0, "NONE", ""))
                sound.writeframes(samples(cue).tobytes())
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"tones in {folder}: cannot be written ({error}); free the disk") from None
    return files
