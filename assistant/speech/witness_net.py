"""The witness's network in numpy: sound -> log scores of phones. Inference only; training is in assistant/train.

Mel-frequency cepstra as Kaldi's compute-mfcc-feats makes them (documented by the Kaldi project), then a factored
time-delay network (Povey et al. 2018), its batch norms folded away. How it is laid out: assistant/train/layout.py.
"""

import math
from collections.abc import Mapping
from functools import cache

import numpy as np
from numpy.typing import NDArray

from assistant.ports import RATE

Floats = NDArray[np.float32]
Weights = Mapping[str, Floats]
"""'first.weight', 'layer0.linear.weight', ... as `assistant.train.pack` folds them."""

WINDOW, STEP, TRANSFORM = 400, 160, 512
"""Samples of a window, between windows, and of the Fourier transform."""
BANDS, LOWEST, HIGHEST = 40, 20.0, 7600.0
"""Mel bands between two frequencies in Hz."""
FLOOR = np.float32(2.0**-23)
STEPS = (1, 1, 1, 0, *(3,) * 10)
"""Frames that each layer looks back and ahead."""
THIN_BEFORE, SUBSAMPLING = 3, 3
CONTEXT = 1 + sum(STEPS)
BYPASS = np.float32(0.66)


@cache
def _tables() -> tuple[Floats, Floats, Floats]:
    """Window [WINDOW], bands [TRANSFORM / 2 + 1, BANDS], liftered cosines [BANDS, BANDS]."""
    place = np.arange(WINDOW)
    window = (0.5 - 0.5 * np.cos(2 * math.pi * place / (WINDOW - 1))) ** 0.85

    def mel(hertz: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(1127.0 * np.log1p(hertz / 700.0))

    low, high = mel(np.array([LOWEST, HIGHEST]))
    edges, bins = np.linspace(low, high, BANDS + 2), mel(np.arange(TRANSFORM // 2 + 1) * RATE / TRANSFORM)[:, None]
    left, centre, right = edges[:-2], edges[1:-1], edges[2:]
    bands = np.clip(np.minimum((bins - left) / (centre - left), (right - bins) / (right - centre)), 0.0, None)
    bands[-1] = 0.0
    order, band = np.arange(BANDS)[:, None], np.arange(BANDS)[None]
    cosines = math.sqrt(2.0 / BANDS) * np.cos(math.pi / BANDS * (band + 0.5) * order)
    cosines[0] = math.sqrt(1.0 / BANDS)
    lifted = (cosines * (1.0 + 11.0 * np.sin(math.pi * order / 22.0))).T
    return window.astype(np.float32), bands.astype(np.float32), lifted.astype(np.float32)


def cepstra(samples: Floats) -> Floats:
    """[samples] at 16-bit scale -> [frames, 40], a frame every 10 ms; none where there is no whole window."""
    if len(samples) < WINDOW:
        return np.zeros((0, BANDS), np.float32)
    window, bands, cosines = _tables()
    frames = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::STEP]
    frames = frames - frames.mean(1, keepdims=True)
    emphasised = np.concatenate([frames[:, :1] * np.float32(0.03), frames[:, 1:] - np.float32(0.97) * frames[:, :-1]], 1)
    spectrum = np.fft.rfft(emphasised * window, TRANSFORM)
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
    return np.asarray(np.log(np.maximum(power @ bands, FLOOR)) @ cosines)


def scores(samples: Floats, weights: Weights) -> Floats:
    """[samples] at 16-bit scale -> [ceil(frames / 3), outputs] log scores, unnormalised."""
    features = cepstra(samples)
    if not len(features):
        return np.zeros((0, len(weights["output.bias"])), np.float32)
    after = CONTEXT + -len(features) % SUBSAMPLING
    x = np.concatenate([features[:1].repeat(CONTEXT, 0), features, features[-1:].repeat(after, 0)])
    x = _rectified(np.concatenate([x[:-2], x[1:-1], x[2:]], 1), weights, "first")
    for place, step in enumerate(STEPS):
        if place == THIN_BEFORE:
            x = x[::SUBSAMPLING]
        x = _layer(x, weights, f"layer{place}", step // (SUBSAMPLING if place >= THIN_BEFORE else 1))
    x = _rectified(x @ weights["narrow.weight"].T, weights, "last")
    return _affine(x, weights, "output")


def _affine(x: Floats, weights: Weights, name: str) -> Floats:
    return np.asarray(x @ weights[f"{name}.weight"].T + weights[f"{name}.bias"])


def _rectified(x: Floats, weights: Weights, name: str) -> Floats:
    return np.maximum(_affine(x, weights, name), np.float32(0.0))


def _layer(x: Floats, weights: Weights, name: str, shift: int) -> Floats:
    linear = weights[f"{name}.linear.weight"].T
    if not shift:
        return BYPASS * x + _rectified(x @ linear, weights, f"{name}.affine")
    y = np.concatenate([x[:-shift], x[shift:]], 1) @ linear
    y = _rectified(np.concatenate([y[:-shift], y[shift:]], 1), weights, f"{name}.affine")
    return BYPASS * x[shift:-shift] + y
