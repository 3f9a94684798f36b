"""The acoustic network by loops over frames, in numpy: the reference for torch's network and for the packed file.

Written from the description in assistant/train/network.py (Povey et al. 2018), not from its code: a score is computed
for one frame by asking each layer for the frames it needs. No torch.
"""

from collections.abc import Mapping
from typing import Protocol

import numpy as np

LOOKS = [1, 1, 1, 0, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3]
"""Frames that each factored layer looks back and ahead."""
SHARE = 0.66
"""Of a layer's input, added to its output."""
SMALLEST = 1e-3
"""Added to a batch norm's variance."""

Weights = Mapping[str, np.ndarray]


class Sizes(Protocol):
    """Widths of the network."""

    outputs: int
    inputs: int
    wide: int
    narrow: int


def random_weights(size: Sizes, seed: int) -> dict[str, np.ndarray]:
    """Weights under the names of `Network.state_dict()`, norms that do something included."""
    dice = np.random.default_rng(seed)
    wide, narrow = size.wide, size.narrow

    def matrix(rows: int, columns: int) -> np.ndarray:
        return dice.normal(0, columns**-0.5, (rows, columns)).astype(np.float32)

    def vector(length: int, low: float, high: float) -> np.ndarray:
        return dice.uniform(low, high, length).astype(np.float32)

    made = {"mean": vector(size.inputs, -1, 1), "scale": vector(size.inputs, 0.5, 2)}
    made |= {"first.weight": matrix(wide, 3 * size.inputs), "first.bias": vector(wide, -0.3, 0.6)}
    for number, look in enumerate(LOOKS):
        taps = 2 if look else 1
        made[f"layers.{number}.linear.weight"] = matrix(narrow, wide * taps)
        made[f"layers.{number}.affine.weight"] = matrix(wide, narrow * taps)
        made[f"layers.{number}.affine.bias"] = vector(wide, -0.3, 0.6)
    made |= {"last_linear.weight": matrix(narrow, wide), "last.weight": matrix(wide, narrow)}
    made |= {"last.bias": vector(wide, -0.3, 0.6)}
    made |= {"output.weight": matrix(size.outputs, wide), "output.bias": vector(size.outputs, -1, 1)}
    for norm in ("first_norm", *(f"layers.{number}.norm" for number in range(len(LOOKS))), "last_norm"):
        made[f"{norm}.running_mean"] = vector(wide, -0.2, 0.8)
        made[f"{norm}.running_var"] = vector(wide, 0.2, 2)
    return made


def forward(weights: Weights, cepstra: np.ndarray, frame: int) -> np.ndarray:
    """Scores [outputs] of one frame of `cepstra` [frames, inputs], which must hold its context."""
    heard: dict[tuple[int, int], np.ndarray] = {}

    def normed(name: str, x: np.ndarray) -> np.ndarray:
        spread = np.sqrt(weights[f"{name}.running_var"].astype(np.float64) + SMALLEST)
        return (np.maximum(x, 0) - weights[f"{name}.running_mean"]) / spread

    def first(at: int) -> np.ndarray:
        three = [(cepstra[at + k] - weights["mean"]) * weights["scale"] for k in (-1, 0, 1)]
        return normed("first_norm", weights["first.weight"] @ np.concatenate(three) + weights["first.bias"])

    def layer(number: int, at: int) -> np.ndarray:
        """What comes out of factored layer `number` at a frame; -1 is the first layer."""
        if (number, at) not in heard:
            heard[number, at] = first(at) if number < 0 else factored(number, at)
        return heard[number, at]

    def narrow(number: int, at: int) -> np.ndarray:
        look = LOOKS[number]
        taps = [at - look, at] if look else [at]
        together = np.concatenate([layer(number - 1, each) for each in taps])
        return weights[f"layers.{number}.linear.weight"] @ together

    def factored(number: int, at: int) -> np.ndarray:
        look = LOOKS[number]
        together = np.concatenate([narrow(number, each) for each in ([at, at + look] if look else [at])])
        y = weights[f"layers.{number}.affine.weight"] @ together + weights[f"layers.{number}.affine.bias"]
        return SHARE * layer(number - 1, at) + normed(f"layers.{number}.norm", y)

    top = weights["last_linear.weight"] @ layer(len(LOOKS) - 1, frame)
    top = normed("last_norm", weights["last.weight"] @ top + weights["last.bias"])
    return weights["output.weight"] @ top + weights["output.bias"]
