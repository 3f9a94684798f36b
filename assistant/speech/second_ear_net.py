"""Whisper's network in numpy: sound -> features -> what is said, token by token, with everything decoded so far kept.

Radford et al. 2022, 'Robust Speech Recognition via Large-Scale Weak Supervision'; arrays named as in the weights' file.
Each step decodes one token of each hypothesis: keys and values of what came before are kept, nothing is decoded twice.
Matrices of the layers are 16 bits wide (second_ear_files.halve), one at a time is widened where it is multiplied by.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from assistant.ports import RATE
from assistant.speech.second_ear_files import EMBEDDINGS, STEP, Floats, Weights

HOP, WINDOW, MELS = 160, 400, 80
"""Samples from frame to frame, samples of a frame, bands."""
LAYERS, HEADS = 4, 6
"""Of tiny.en, in encoder and decoder."""
_FLOOR = 8.0
"""Powers of ten below the loudest that still count."""


@cache
def mel_bands() -> Floats:
    """(MELS, WINDOW / 2 + 1): triangles of equal area on Slaney's mel scale (linear to 1 kHz), 0 to 8 kHz."""

    def hertz(mel: NDArray[np.float64]) -> NDArray[np.float64]:
        found: NDArray[np.float64] = np.where(mel < 15, mel * 200 / 3, 1000 * np.exp((mel - 15) * np.log(6.4) / 27))
        return found

    top = 15 + np.log(RATE / 2 / 1000) / (np.log(6.4) / 27)
    corners = hertz(np.linspace(0, top, MELS + 2))
    bins = np.linspace(0, RATE / 2, WINDOW // 2 + 1)
    up = (bins - corners[:-2, None]) / np.diff(corners)[:-1, None]
    down = (corners[2:, None] - bins) / np.diff(corners)[1:, None]
    bands = np.maximum(0, np.minimum(up, down)) * (2 / (corners[2:] - corners[:-2]))[:, None]
    return bands.astype(np.float32)


def features(samples: Floats, seconds: float) -> Floats:
    """(MELS, frames): log mel power of `samples` (RATE, +-1) followed by silence up to `seconds`."""
    whole = np.zeros(round(seconds * RATE), np.float32)
    whole[: len(samples)] = samples[: len(whole)]
    padded = np.pad(whole, WINDOW // 2, mode="reflect")
    frames = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::HOP][: len(whole) // HOP]
    window = np.hanning(WINDOW + 1)[:-1].astype(np.float32)
    power = np.abs(np.fft.rfft(frames * window)).astype(np.float32) ** 2
    levels = np.log10(np.maximum(mel_bands() @ power.T, 1e-10))
    found: Floats = (np.maximum(levels, levels.max() - _FLOOR) + 4) / 4
    return found


def _gelu(x: Floats) -> Floats:
    """By its tanh form, at most 0.0005 from the exact one."""
    found: Floats = 0.5 * x * (1 + np.tanh(0.7978845608 * (x + 0.044715 * x * x * x)))
    return found


def _normal(x: Floats, weights: Weights, name: str) -> Floats:
    x = x - x.mean(-1, keepdims=True)
    x = x / np.sqrt((x * x).mean(-1, keepdims=True) + 1e-5)
    found: Floats = x * weights[f"{name}/layer_norm/gamma"] + weights[f"{name}/layer_norm/beta"]
    return found


def _linear(x: Floats, weights: Weights, name: str) -> Floats:
    # In `x @` whole numbers numpy would widen them, too, and take four times as long.
    wide = weights[f"{name}/weight"].astype(np.float32)
    found: Floats = x @ wide.T * weights[f"{name}/weight{STEP}"] + weights[f"{name}/bias"]
    return found


def _soft(x: Floats) -> Floats:
    x = np.exp(x - x.max(-1, keepdims=True))
    found: Floats = x / x.sum(-1, keepdims=True)
    return found


def _feed(x: Floats, weights: Weights, name: str) -> Floats:
    inner = _gelu(_linear(_normal(x, weights, name), weights, f"{name}/linear_0"))
    return x + _linear(inner, weights, f"{name}/linear_1")


def _heads(x: Floats) -> Floats:
    """(..., time, HEADS * size) -> (..., HEADS, time, size)."""
    return np.moveaxis(x.reshape(*x.shape[:-1], HEADS, -1), -2, -3)


def _joined(x: Floats) -> Floats:
    """The reverse of `_heads`."""
    x = np.moveaxis(x, -3, -2)
    return x.reshape(*x.shape[:-2], -1)


def encode(levels: Floats, weights: Weights, tick: Callable[[], None] = lambda: None) -> Floats:
    """(MELS, frames) -> (frames / 2, width): what the decoder listens to. `tick` is called before each layer."""
    x = _gelu(_convolve(levels.T, weights, "encoder/conv1"))
    x = _gelu(_convolve(x, weights, "encoder/conv2")[::2])
    x = x + weights["encoder/position_encodings/encodings"][: len(x)]
    for layer in range(LAYERS):
        tick()
        name = f"encoder/layer_{layer}"
        parts = np.split(_linear(_normal(x, weights, f"{name}/self_attention"), weights,
                                 f"{name}/self_attention/linear_0"), 3 * HEADS, axis=-1)  # fmt: skip
        # One head after another: all at once would take 15 MB more for 12 s of sound.
        heard = np.concatenate([_attend(*parts[head::HEADS]) for head in range(HEADS)], -1)
        x = x + _linear(heard, weights, f"{name}/self_attention/linear_1")
        x = _feed(x, weights, f"{name}/ffn")
    return _normal(x, weights, "encoder")


def _convolve(x: Floats, weights: Weights, name: str) -> Floats:
    """Three taps, (time, in) -> (time, out)."""
    taps = weights[f"{name}/weight"]
    padded = np.pad(x, ((1, 1), (0, 0)))
    found: Floats = sum(padded[at : at + len(x)] @ taps[:, :, at].T for at in range(3)) + weights[f"{name}/bias"]
    return found


def _attend(q: Floats, k: Floats, v: Floats, hidden: Floats | None = None) -> Floats:
    """Queries, keys, values -> what is heard; `hidden` is added to the scores: minus infinity is not seen."""
    scores = q @ np.swapaxes(k, -1, -2) * q.shape[-1] ** -0.5
    found: Floats = _soft(scores if hidden is None else scores + hidden) @ v
    return found


@dataclass(frozen=True)
class Kept:
    """What was decoded so far, of every hypothesis."""

    selves: tuple[tuple[Floats, Floats], ...]
    """Of each layer keys and values of the tokens: (hypotheses, HEADS, tokens, size)."""
    sounds: tuple[tuple[Floats, Floats], ...]
    """Of each layer keys and values of the sound, which all hypotheses share: (HEADS, time, size)."""

    @property
    def length(self) -> int:
        """Tokens so far."""
        return int(self.selves[0][0].shape[-2])

    def pick(self, rows: Sequence[int]) -> "Kept":
        """The hypotheses in `rows`, in that order; one may come twice."""
        chosen = list(rows)
        return Kept(tuple((k[chosen], v[chosen]) for k, v in self.selves), self.sounds)


def begin(sound: Floats, weights: Weights) -> Kept:
    """One hypothesis without a token."""
    sounds = list[tuple[Floats, Floats]]()
    for layer in range(LAYERS):
        k, v = np.split(_linear(sound, weights, f"decoder/layer_{layer}/attention/linear_1"), 2, axis=-1)
        sounds.append((_heads(k), _heads(v)))
    none = np.zeros((1, HEADS, 0, sound.shape[-1] // HEADS), np.float32)
    return Kept(tuple((none, none) for _ in range(LAYERS)), tuple(sounds))


def decode(tokens: Sequence[Sequence[int]], kept: Kept, weights: Weights) -> tuple[Floats, Kept]:
    """One or more further tokens of each hypothesis -> state after the last, (hypotheses, width), and what to keep."""
    numbers, before = np.asarray(tokens), kept.length
    count = numbers.shape[1]
    places = weights["decoder/position_encodings/encodings"][before : before + count]
    x = weights[EMBEDDINGS][numbers] + places
    hidden = np.triu(np.full((count, before + count), -np.inf, np.float32), before + 1) if count > 1 else None
    selves = list[tuple[Floats, Floats]]()
    for layer in range(LAYERS):
        name = f"decoder/layer_{layer}"
        q, k, v = np.split(_linear(_normal(x, weights, f"{name}/self_attention"), weights,
                                   f"{name}/self_attention/linear_0"), 3, axis=-1)  # fmt: skip
        selves.append(_longer(kept.selves[layer], _heads(k), _heads(v)))
        x = x + _linear(_joined(_attend(_heads(q), *selves[-1], hidden)), weights, f"{name}/self_attention/linear_1")
        asked = _linear(_normal(x, weights, f"{name}/attention"), weights, f"{name}/attention/linear_0")
        x = x + _linear(_listen(asked, *kept.sounds[layer]), weights, f"{name}/attention/linear_2")
        x = _feed(x, weights, f"{name}/ffn")
    return _normal(x[:, -1], weights, "decoder"), Kept(tuple(selves), kept.sounds)


def _longer(kept: tuple[Floats, Floats], k: Floats, v: Floats) -> tuple[Floats, Floats]:
    return np.concatenate([kept[0], k], axis=-2), np.concatenate([kept[1], v], axis=-2)


def _listen(asked: Floats, k: Floats, v: Floats) -> Floats:
    """All hypotheses at once, since they hear the same sound."""
    flat = asked.reshape(-1, asked.shape[-1])
    return _joined(_attend(_heads(flat), k, v)).reshape(asked.shape)


def likely(state: Floats, weights: Weights) -> Floats:
    """(hypotheses, width) -> log probability of each token whose embedding is kept: (hypotheses, tokens)."""
    logits = state @ weights[EMBEDDINGS].T
    logits -= logits.max(-1, keepdims=True)
    found: Floats = logits - np.log(np.exp(logits).sum(-1, keepdims=True))
    return found
