"""The synthesiser's int8 ONNX graph, run by torch with its weights spread out to floats: on a GPU, where it flies.

onnxruntime keeps int8 on the processor (a few times as fast as spoken). Here sixteen processes on one GPU made 170 s of
speech a second (Kokoro, 26 November 2026). Only the operators of that graph are there; their meaning: ONNX's and
onnxruntime's operator documentation. Shapes and sums over them stay on the processor, sound and weights on the device.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import torch
import torch.nn.functional as F
from torch import Tensor

Attributes = dict[str, Any]
_TYPES = {1: torch.float32, 2: torch.uint8, 3: torch.int8, 6: torch.int32, 7: torch.int64, 9: torch.bool}
_INT8 = (torch.int8, torch.uint8)
_MIXED = frozenset(
    "Add And Concat DequantizeLinear Div Equal FusedMatMul Greater GreaterOrEqual "
    "Less MatMul Mul Pow ScatterND Sub Where".split()
)
"""Operators whose inputs may come from both, a shape beside a sound."""
_GATES = [0, 2, 3, 1]
"""ONNX orders an LSTM's gates input, output, forget, cell; torch input, forget, cell, output."""


class Graph:
    """One graph on one device."""

    def __init__(self, model: Path, device: torch.device) -> None:
        """Raises KeyError for an operator that is not known here."""
        import onnx

        graph = onnx.load(str(model)).graph
        self._device = device
        self._kept = {each.name: self._constant(onnx.numpy_helper.to_array(each)) for each in graph.initializer}
        self._made: dict[str, Any] = {}
        self._output = graph.output[0].name
        self._nodes = [(node.op_type, _attributes(node), list(node.input), list(node.output)) for node in graph.node]
        self._operators = {kind: self._operator(kind) for kind, *_ in self._nodes}
        last = {name: place for place, (_, _, inputs, _) in enumerate(self._nodes) for name in inputs}
        self._done: list[list[str]] = [[] for _ in self._nodes]
        for name, place in last.items():
            if name not in self._kept and name != self._output:
                self._done[place].append(name)

    def _constant(self, values: Any) -> Tensor:
        value = torch.from_numpy(np.array(values))
        return value.to(self._device) if _is_sound(value) else value

    def _operator(self, name: str) -> Callable[..., Any]:
        mine = getattr(self, f"_{name.lower()}", None)
        return mine if mine is not None else _OPERATORS[name]

    @torch.no_grad()
    def __call__(self, **inputs: Tensor) -> Tensor:
        """The graph's first output for its named inputs."""
        values = {name: each.to(self._device) if _is_sound(each) else each for name, each in inputs.items()}
        for (kind, attributes, names, outputs), done in zip(self._nodes, self._done, strict=True):
            given = [values.get(name, self._kept.get(name)) if name else None for name in names]
            self._names = names
            made = self._operators[kind](attributes, *(self._together(given) if kind in _MIXED else given))
            for name, value in zip(outputs, made if isinstance(made, tuple) else (made,), strict=False):
                values[name] = value
            for name in done:
                values.pop(name, None)
        return values[self._output]

    def _together(self, given: Sequence[Tensor | None]) -> Sequence[Tensor | None]:
        """On the device if one of them is; single numbers may stay where they are."""
        if not any(each is not None and each.device.type == self._device.type for each in given):
            return given
        return [each if each is None or each.dim() == 0 else each.to(self._device) for each in given]

    def _weights(self, packed: Tensor, zero: Tensor) -> Tensor:
        """The int8 weights of the present node as floats, without their scale, which the graph multiplies in."""
        if packed.dtype not in _INT8:
            return packed
        name = self._names[1]
        if name not in self._made:
            self._made[name] = packed.float() - zero.float().to(packed.device)
        made: Tensor = self._made[name]
        return made

    def _matmulinteger(self, _: Attributes, x: Tensor, packed: Tensor, __: Tensor, zero: Tensor) -> Tensor:
        return x @ self._weights(packed, zero)

    def _convinteger(self, at: Attributes, x: Tensor, packed: Tensor, _: Tensor, zero: Tensor) -> Tensor:
        return _conv(at, x.to(self._device), self._weights(packed, zero))

    def _dynamicquantizelstm(
        self, at: Attributes, x: Tensor, w: Tensor, r: Tensor, bias: Tensor, _: None, h: Tensor, c: Tensor, __: None,
        w_scale: Tensor, w_zero: Tensor, r_scale: Tensor, r_zero: Tensor,
    ) -> Any:  # fmt: skip
        size, name = int(at["hidden_size"]), self._names[1]
        if name not in self._made:
            both = (_spread(w, w_scale, w_zero, size), _spread(r, r_scale, r_zero, size))
            self._made[name] = _lstm(both, bias.reshape(2, 2, 4, size)[:, :, _GATES], self._device)
        state = [each.to(self._device).float().expand(2, x.shape[1], -1).contiguous() for each in (h, c)]
        y, (h, c) = self._made[name](x.to(self._device), tuple(state))
        return y.reshape(*y.shape[:2], 2, size).permute(0, 2, 1, 3), h, c


def _is_sound(value: Tensor) -> bool:
    """Whether it belongs on the device: sound, style or weights, not shapes or single numbers."""
    return value.numel() > 1 and value.dtype in (torch.float32, *_INT8)


def _attributes(node: Any) -> Attributes:
    import onnx

    found = {each.name: onnx.helper.get_attribute_value(each) for each in node.attribute}
    if "value" in found:
        found["value"] = torch.from_numpy(np.array(onnx.numpy_helper.to_array(found["value"])))
    return found


def _spread(packed: Tensor, scale: Tensor, zero: Tensor, size: int) -> Tensor:
    """[2, inputs, 4 size] of int8 -> [2, 4, size, inputs] of floats, gates in torch's order."""
    offset, step = (each.float().to(packed.device).reshape(2, 1, -1) for each in (zero, scale))
    floats = (packed.float() - offset) * step
    return floats.transpose(1, 2).reshape(2, 4, size, -1)[:, _GATES]


def _lstm(weights: tuple[Tensor, Tensor], bias: Tensor, device: torch.device) -> torch.nn.LSTM:
    inputs, size = weights[0].shape[-1], weights[1].shape[-1]
    made = torch.nn.LSTM(inputs, size, bidirectional=True).to(device)
    for way, end in enumerate(("", "_reverse")):
        for name, values in (
            ("weight_ih", weights[0][way].reshape(4 * size, -1)), ("weight_hh", weights[1][way].reshape(4 * size, -1)),
            ("bias_ih", bias[way, 0].reshape(-1)), ("bias_hh", bias[way, 1].reshape(-1)),
        ):  # fmt: skip
            getattr(made, f"{name}_l0{end}").data.copy_(values)
    return made


def _conv(at: Attributes, x: Tensor, weights: Tensor, bias: Tensor | None = None) -> Tensor:
    return F.conv1d(x, weights, bias, at["strides"], at["pads"][0], at["dilations"], at["group"])


def _transposed(at: Attributes, x: Tensor, weights: Tensor, bias: Tensor | None = None) -> Tensor:
    further = (at.get("output_padding") or [0])[0]
    return F.conv_transpose1d(x, weights, bias, at["strides"], at["pads"][0], further, at["group"], at["dilations"])


def _divide(_: Attributes, a: Tensor, b: Tensor) -> Tensor:
    return a / b if a.is_floating_point() else torch.div(a, b, rounding_mode="trunc")


def _gather(at: Attributes, x: Tensor, place: Tensor) -> Tensor:
    axis = at.get("axis", 0)
    if place.dim() == 0:
        return x.select(axis, int(place))
    place = torch.where(place < 0, place + x.shape[axis], place).to(x.device)
    found = x.index_select(axis, place.reshape(-1))
    return found.reshape(*x.shape[:axis], *place.shape, *x.shape[axis + 1 :])


def _unsqueeze(_: Attributes, x: Tensor, axes: Tensor) -> Tensor:
    for axis in sorted(each % (x.dim() + len(axes)) for each in axes.tolist()):
        x = x.unsqueeze(axis)
    return x


def _squeeze(_: Attributes, x: Tensor, axes: Tensor) -> Tensor:
    for axis in sorted((each % x.dim() for each in axes.tolist()), reverse=True):
        x = x.squeeze(axis)
    return x


def _reshape(at: Attributes, x: Tensor, shape: Tensor) -> Tensor:
    keep = not at.get("allowzero", 0)
    return x.reshape([x.shape[place] if size == 0 and keep else size for place, size in enumerate(shape.tolist())])


def _slice(_: Attributes, x: Tensor, begins: Tensor, ends: Tensor, axes: Tensor | None = None,
           steps: Tensor | None = None) -> Tensor:  # fmt: skip
    where = range(len(begins)) if axes is None else axes.tolist()
    strides = [1] * len(begins) if steps is None else steps.tolist()
    for begin, end, axis, stride in zip(begins.tolist(), ends.tolist(), where, strides, strict=True):
        places = range(x.shape[axis])[slice(begin, None if end < -x.shape[axis] else end, stride)]
        x = x.index_select(axis, torch.tensor(places, dtype=torch.int64, device=x.device))
    return x


def _pad(_: Attributes, x: Tensor, sizes: Tensor, *__: Tensor) -> Tensor:
    begins, ends = sizes.reshape(2, -1).tolist()
    flat = [size for pair in zip(reversed(begins), reversed(ends), strict=True) for size in pair]
    while len(flat) > 2 and flat[-2:] == [0, 0]:
        flat = flat[:-2]
    wide = x.float() if x.dim() > 1 else x.float()[None]
    padded = F.pad(wide, flat, mode="reflect")
    return padded if x.dim() > 1 else padded[0]


def _resize(at: Attributes, x: Tensor, _: None, scales: Tensor, __: None = None) -> Tensor:
    factor = float(scales[-1])
    if at["mode"] == b"nearest":
        return F.interpolate(x.float(), scale_factor=factor, mode="nearest")
    return F.interpolate(x, size=int(x.shape[-1] * factor), mode="linear", align_corners=False)


def _spectra(_: Attributes, x: Tensor, step: Tensor, window: Tensor, size: Tensor) -> Tensor:
    frames = x.reshape(len(x), -1).unfold(1, int(size), int(step)) * window.to(x.device)
    return torch.view_as_real(torch.fft.rfft(frames, int(size)))


def _scattered(_: Attributes, x: Tensor, places: Tensor, values: Tensor) -> Tensor:
    made = x.clone()
    made[tuple(places.unbind(-1))] = values
    return made


def _normed(at: Attributes, x: Tensor, scale: Tensor, offset: Tensor) -> Tensor:
    return F.layer_norm(x, (x.shape[-1],), scale, offset, at["epsilon"])


def _axes(axes: Tensor) -> list[int]:
    return [int(each) for each in axes.tolist()]


_OPERATORS: dict[str, Callable[..., Any]] = {
    "Add": lambda _, a, b: a + b,
    "And": lambda _, a, b: a & b,
    "Atan": lambda _, x: x.atan().nan_to_num(0.0),  # of 0 / 0 in perfect silence; the graph puts another value there
    "Cast": lambda at, x: x.to(_TYPES[at["to"]]),
    "Clip": lambda _, x, low=None, high=None: x.clamp(*(None if e is None else float(e) for e in (low, high))),
    "Concat": lambda at, *parts: torch.cat(list(parts), at["axis"]),
    "ConstantOfShape": lambda at, shape: torch.full(shape.tolist(), at["value"].item(), dtype=at["value"].dtype),
    "Conv": _conv,
    "ConvTranspose": _transposed,
    "Cos": lambda _, x: x.cos(),
    "CumSum": lambda _, x, axis: x.cumsum(int(axis)),
    "DequantizeLinear": lambda _, x, scale, zero: (x.float() - zero.float()) * scale.float(),
    "Div": _divide,
    "DynamicQuantizeLinear": lambda _, x: (x, torch.ones(()), torch.zeros((), dtype=torch.uint8)),  # stays as it is
    "Equal": lambda _, a, b: a == b,
    "Exp": lambda _, x: x.exp(),
    "Expand": lambda _, x, shape: x.expand(torch.broadcast_shapes(tuple(x.shape), tuple(shape.tolist()))),
    "FastGelu": lambda _, x, bias=None: F.gelu(x if bias is None else x + bias, approximate="tanh"),
    "Floor": lambda _, x: x.floor(),
    "FusedMatMul": lambda at, a, b: (a.transpose(-1, -2) if at["transA"] else a) @ b,
    "Gather": _gather,
    "Greater": lambda _, a, b: a > b,
    "GreaterOrEqual": lambda _, a, b: a >= b,
    "LayerNormalization": _normed,
    "LeakyRelu": lambda at, x: F.leaky_relu(x, at["alpha"]),
    "Less": lambda _, a, b: a < b,
    "MatMul": lambda _, a, b: a @ b,
    "Mul": lambda _, a, b: a * b,
    "NonZero": lambda _, x: x.nonzero().T,
    "Pad": _pad,
    "Pow": lambda _, a, b: a**b,
    "Range": lambda _, a, b, step: torch.arange(a.item(), b.item(), step.item(), dtype=a.dtype),
    "ReduceMean": lambda at, x, axes: x.mean(_axes(axes), keepdim=bool(at["keepdims"])),
    "ReduceSum": lambda at, x, axes: x.sum(_axes(axes), keepdim=bool(at["keepdims"])),
    "Reshape": _reshape,
    "Resize": _resize,
    "Round": lambda _, x: x.round(),
    "STFT": _spectra,
    "ScatterND": _scattered,
    "Shape": lambda at, x: torch.tensor(list(x.shape)[at.get("start", 0) :], dtype=torch.int64),
    "Sigmoid": lambda _, x: x.sigmoid(),
    "Sin": lambda _, x: x.sin(),
    "SkipLayerNormalization": lambda at, x, skip, scale, offset: _normed(at, x + skip, scale, offset),
    "Slice": _slice,
    "Softmax": lambda at, x: x.softmax(at["axis"]),
    "Split": lambda at, x, sizes=None: torch.split(
        x, sizes.tolist() if sizes is not None else x.shape[at["axis"]] // 2, at["axis"]
    ),
    "Sqrt": lambda _, x: x.sqrt(),
    "Squeeze": _squeeze,
    "Sub": lambda _, a, b: a - b,
    "Tanh": lambda _, x: x.tanh(),
    "Transpose": lambda at, x: x.permute(at["perm"]),
    "Unsqueeze": _unsqueeze,
    "Where": lambda _, c, a, b: torch.where(c, a, b),
}
