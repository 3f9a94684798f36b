"""The witness's network in numpy: sound -> log scores of phones. Inference only; training is in assistant/train.

A factored time-delay network (Povey et al. 2018), its batch norms folded away, laid out as layout.py tells.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from assistant.speech.cepstra import Floats, cepstra
from assistant.speech.layout import BYPASS, CONTEXT, STEPS, SUBSAMPLING, THIN_BEFORE

Weights = Mapping[str, NDArray[np.float16] | Floats]
"""'first.weight', 'layer0.linear.weight', ... as `assistant.train.pack` folds them. 16 bits are widened to 32 a layer
at a time, where they are multiplied."""


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
        return np.float32(BYPASS) * x + _rectified(x @ linear, weights, f"{name}.affine")
    y = np.concatenate([x[:-shift], x[shift:]], 1) @ linear
    y = _rectified(np.concatenate([y[:-shift], y[shift:]], 1), weights, f"{name}.affine")
    return np.float32(BYPASS) * x[shift:-shift] + y
