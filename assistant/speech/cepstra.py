"""Mel-frequency cepstra, equal to Kaldi's to 0.01: of one sound, in numpy.

25 ms windows every 10 ms, 'povey' window, 40 mel bands from 20 to 7600 Hz, 40 cepstra, lifter 22, pre-emphasis 0.97,
no dither, no energy. Definition: Kaldi's compute-mfcc-feats as documented by the Kaldi project.
"""

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from assistant.ports import RATE

Floats = NDArray[np.float32]
WINDOW, STEP, TRANSFORM = 400, 160, 512
"""Samples per window, between windows, and of the Fourier transform."""
BANDS = 40
LOWEST, HIGHEST = 20.0, 7600.0
"""Hz."""
EMPHASIS = 0.97
FLOOR = 2.0**-23
"""Smallest band energy, as in Kaldi: the step of 32-bit numbers at 1."""


def _mel(hertz: float | NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(1127.0 * np.log(1.0 + np.asarray(hertz) / 700.0))


def povey() -> NDArray[np.float64]:
    """The window: [WINDOW]."""
    return np.asarray((0.5 - 0.5 * np.cos(2.0 * math.pi * np.arange(WINDOW) / (WINDOW - 1))) ** 0.85)


def bands(warp: float = 1.0) -> NDArray[np.float64]:
    """Triangles over the bins: [TRANSFORM / 2 + 1, BANDS]; `warp` moves all frequencies, as another throat would."""
    edges = np.linspace(float(_mel(LOWEST)), float(_mel(HIGHEST)), BANDS + 2)
    bins = _mel(np.arange(TRANSFORM // 2 + 1) * RATE / TRANSFORM * warp)[:, None]
    left, centre, right = edges[:-2], edges[1:-1], edges[2:]
    rising, falling = (bins - left) / (centre - left), (right - bins) / (right - centre)
    weights = np.clip(np.minimum(rising, falling), 0.0, None)
    weights[-1] = 0.0
    return np.asarray(weights)


def cosines() -> NDArray[np.float64]:
    """Log bands -> liftered cepstra: [BANDS, BANDS]."""
    order, band = np.arange(BANDS)[:, None], np.arange(BANDS)[None]
    table = math.sqrt(2.0 / BANDS) * np.cos(math.pi / BANDS * (band + 0.5) * order)
    table[0] = math.sqrt(1.0 / BANDS)
    return np.asarray((table * (1.0 + 11.0 * np.sin(math.pi * order / 22.0))).T)


@cache
def _tables() -> tuple[Floats, Floats, Floats]:
    return povey().astype(np.float32), bands().astype(np.float32), cosines().astype(np.float32)


def cepstra(samples: Floats) -> Floats:
    """[samples] at 16-bit scale -> [frames, BANDS], frames = (samples - 400) // 160 + 1; none in less than a window."""
    if len(samples) < WINDOW:
        return np.zeros((0, BANDS), np.float32)
    window, bands_, cosines_ = _tables()
    frames = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::STEP]
    frames = frames - frames.mean(1, keepdims=True)
    first, rest = frames[:, :1] * np.float32(1 - EMPHASIS), frames[:, 1:] - np.float32(EMPHASIS) * frames[:, :-1]
    spectrum = np.fft.rfft(np.concatenate([first, rest], 1) * window, TRANSFORM)
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
    return np.asarray(np.log(np.maximum(power @ bands_, np.float32(FLOOR))) @ cosines_)
