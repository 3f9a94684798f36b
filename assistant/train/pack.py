"""A trained network -> am/final.mdl, as the unmodified vosk wheel reads it.

Batch norms vanish: they stand after the rectifier, so their scale goes into the affine part before it (for a > 0,
relu(a x) = a relu(x)) and their offset into the bias of whatever comes next. Four kinds of component are left.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.speech.layout import BYPASS, CONTEXT, EPSILON, STEPS
from assistant.train.kaldi import MAGIC, PhoneState, Writer, write_transitions

Array = NDArray[np.float64]
Weights = dict[str, Array]
"""Parameter name -> values, as in Network.state_dict()."""
OUTPUT = "output.affine"
"""The part that gives a network's scores."""


@dataclass(frozen=True)
class Affine:
    """y = weight x + bias; an empty bias is none."""

    weight: Array
    bias: Array


def _norm(weights: Weights, name: str) -> tuple[Array, Array]:
    """Scale and offset of a batch norm."""
    scale = 1.0 / np.sqrt(weights[f"{name}.running_var"] + EPSILON)
    return scale, -weights[f"{name}.running_mean"] * scale


def _affine(weights: Weights, name: str) -> Affine:
    return Affine(weights[f"{name}.weight"], weights.get(f"{name}.bias", np.zeros(0)))


def _scaled(part: Affine, scale: Array) -> Affine:
    return Affine(part.weight * scale[:, None], part.bias * scale)


def folded(weights: Weights) -> tuple[Affine, list[tuple[Affine, Affine]], Affine, Affine, Affine]:
    """First, (linear, affine) of every factored layer, last linear, last affine, output; batch norms folded in."""
    first = _affine(weights, "first")
    spread, mean = np.tile(weights["scale"], 3), np.tile(weights["mean"], 3)
    first = Affine(first.weight * spread, first.bias - (first.weight * spread) @ mean)
    scale, offset = _norm(weights, "first_norm")
    first = _scaled(first, scale)
    layers = []
    for number, step in enumerate(STEPS):
        taps = 2 if step else 1
        linear, affine = _affine(weights, f"layers.{number}.linear"), _affine(weights, f"layers.{number}.affine")
        carried = affine.weight @ np.tile(linear.weight @ np.tile(offset, taps), taps)
        scale, own = _norm(weights, f"layers.{number}.norm")
        layers.append((linear, _scaled(Affine(affine.weight, affine.bias + carried), scale)))
        offset = BYPASS * offset + own
    narrow, last, output = (_affine(weights, name) for name in ("last_linear", "last", "output"))
    scale, own = _norm(weights, "last_norm")
    last = _scaled(Affine(last.weight, last.bias + last.weight @ (narrow.weight @ offset)), scale)
    return first, layers, narrow, last, Affine(output.weight, output.bias + output.weight @ own)


class _Components:
    """The network's parts and how they hang together."""

    def __init__(self, inputs: int) -> None:
        self.lines = [f"input-node name=input dim={inputs}"]
        self.parts: list[Writer] = []

    def _add(self, name: str, source: str, kind: str) -> Writer:
        self.lines.append(f"component-node name={name} component={name} input={source}")
        part = Writer()
        part.token("<ComponentName>", name, f"<{kind}>")
        self.parts.append(part)
        return part

    def affine(self, name: str, source: str, values: Affine) -> str:
        part = self._add(name, source, "AffineComponent")
        part.token("<LearningRate>")
        part.real(0.001)
        _matrices(part, values, len(values.weight))
        part.token("</AffineComponent>")
        return name

    def delayed(self, name: str, source: str, values: Affine, offsets: list[int]) -> str:
        part = self._add(name, source, "TdnnComponent")
        part.token("<LearningRate>")
        part.real(0.001)
        part.token("<TimeOffsets>")
        part.integers(offsets)
        _matrices(part, values, 0)
        part.token("<OrthonormalConstraint>")
        part.real(0.0)
        part.token("<UseNaturalGradient>")
        part.truth(False)
        part.token("<NumSamplesHistory>")
        part.real(2000.0)
        part.token("<AlphaInOut>")
        part.real(4.0, 4.0)
        part.token("<RankInOut>")
        part.integer(20, 20)
        part.token("</TdnnComponent>")
        return name

    def rectified(self, name: str, source: str, size: int) -> str:
        part = self._add(name, source, "RectifiedLinearComponent")
        part.token("<Dim>")
        part.integer(size)
        for statistic in ("<ValueAvg>", "<DerivAvg>"):
            part.token(statistic)
            part.array(np.zeros(0))
        part.token("<Count>")
        part.real(0.0)
        part.token("<OderivRms>")
        part.array(np.zeros(0))
        for statistic in ("<OderivCount>", "<NumDimsSelfRepaired>", "<NumDimsProcessed>"):
            part.token(statistic)
            part.real(0.0)
        part.token("</RectifiedLinearComponent>")
        return name

    def summed(self, name: str, source: str, size: int) -> str:
        part = self._add(name, source, "NoOpComponent")
        part.token("<Dim>")
        part.integer(size)
        part.token("<BackpropScale>")
        part.real(1.0)
        part.token("</NoOpComponent>")
        return name


def _matrices(part: Writer, values: Affine, bias: int) -> None:
    """`bias`: length of the bias where there is none."""
    part.token("<LinearParams>")
    part.packed(values.weight)
    part.token("<BiasParams>")
    part.array(values.bias if len(values.bias) else np.zeros(bias))


def mark(number: int) -> str:
    """What the names of the parts of network `number` (from 0) begin with."""
    return f"n{number + 1}." if number else ""


def _network(net: _Components, weights: Weights, scale: float, begin: str) -> str:
    """Add a network whose parts' names begin with `begin`; the name of its scores, times `scale`."""
    first, layers, narrow, last, output = folded(weights)
    wide = len(first.bias)
    around = "Append(Offset(input, -1), input, Offset(input, 1))"
    here = net.rectified(f"{begin}first.relu", net.affine(f"{begin}first", around, first), wide)
    for number, ((linear, affine), step) in enumerate(zip(layers, STEPS, strict=True)):
        name = f"{begin}layer{number}"
        there = net.delayed(f"{name}.linear", here, linear, [-step, 0] if step else [0])
        there = net.delayed(f"{name}.affine", there, affine, [0, step] if step else [0])
        there = net.rectified(f"{name}.relu", there, wide)
        here = net.summed(f"{name}.sum", f"Sum(Scale({BYPASS}, {here}), {there})", wide)
    here = net.affine(f"{begin}narrow", here, narrow)
    here = net.rectified(f"{begin}last.relu", net.affine(f"{begin}last", here, last), len(last.bias))
    return net.affine(f"{begin}{OUTPUT}", here, Affine(output.weight * scale, output.bias * scale))


def _components(networks: Sequence[Weights], scale: float) -> _Components:
    net = _Components(len(networks[0]["mean"]))
    mean = ""
    for number, weights in enumerate(networks):
        scores = _network(net, weights, scale / len(networks), mark(number))
        mean = f"Sum({mean}, {scores})" if mean else scores
    net.lines.append(f"output-node name=output input={mean} objective=linear")
    return net


def write_model(networks: Sequence[Weights], states: list[PhoneState], file: Path, scale: float = 1.0) -> None:
    """Write final.mdl: the mean of the log scores of one or more networks, times `scale` (the acoustic scale)."""
    doubles = [{name: values.astype(np.float64) for name, values in each.items()} for each in networks]
    net = _components(doubles, scale)
    model = Writer()
    write_transitions(model, states)
    model.token("<Nnet3>")
    model.raw(("\n" + "\n".join(net.lines) + "\n\n").encode("ascii"))
    model.token("<NumComponents>")
    model.integer(len(net.parts))
    for part in net.parts:
        model.raw(part.content.removeprefix(MAGIC))
    model.token("</Nnet3>", "<LeftContext>")
    model.integer(CONTEXT)
    model.token("<RightContext>")
    model.integer(CONTEXT)
    model.token("<Priors>")
    model.array(np.zeros(0))
    file.write_bytes(model.content)


def write_witness(weights: Weights, file: Path) -> None:
    """Write the folded network as numpy arrays, 16 bits a weight, for `assistant.speech.witness_net`."""
    first, layers, narrow, last, output = folded({name: values.astype(np.float64) for name, values in weights.items()})
    parts = {"first": first, "narrow": narrow, "last": last, "output": output}
    for number, (linear, affine) in enumerate(layers):
        parts |= {f"layer{number}.linear": linear, f"layer{number}.affine": affine}
    found: dict[str, Any] = {f"{name}.weight": part.weight.astype(np.float16) for name, part in parts.items()}
    found |= {f"{name}.bias": part.bias.astype(np.float32) for name, part in parts.items() if len(part.bias)}
    np.savez(file, **found)
