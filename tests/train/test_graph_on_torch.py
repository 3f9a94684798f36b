"""Operators of the synthesiser's graph against onnxruntime, the reference.

Needs torch, onnx and onnxruntime (extra train).
"""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")
onnx = pytest.importorskip("onnx", reason="needs the extra train (onnx)")
onnxruntime = pytest.importorskip("onnxruntime", reason="needs the extra train (onnxruntime)")

from onnx import TensorProto, helper, numpy_helper  # noqa: E402

from assistant.train.graph_on_torch import Graph  # noqa: E402

DICE = np.random.default_rng(8)
X = DICE.standard_normal((1, 6, 20)).astype(np.float32)


def graph_file(folder: Path, nodes: list[Any], kept: dict[str, Any], x: np.ndarray) -> Path:
    """A graph from the input 'x' to the output 'y'."""
    graph = helper.make_graph(
        nodes, "tried",
        [helper.make_tensor_value_info("x", TensorProto.FLOAT, list(x.shape))],
        [helper.make_tensor_value_info("y", TensorProto.FLOAT, None)],
        [numpy_helper.from_array(np.asarray(values), name) for name, values in kept.items()],
    )  # fmt: skip
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 17)], ir_version=8)
    onnx.save(model, str(folder / "tried.onnx"))
    return folder / "tried.onnx"


def both(folder: Path, nodes: list[Any], kept: dict[str, Any], x: np.ndarray = X) -> tuple[np.ndarray, np.ndarray]:
    """The output 'y' of a graph over the input 'x': ours and the reference's."""
    file = graph_file(folder, nodes, kept, x)
    session = onnxruntime.InferenceSession(str(file), providers=["CPUExecutionProvider"])
    ours = Graph(file, torch.device("cpu"))(x=torch.from_numpy(x))
    return ours.numpy(), session.run(None, {"x": x})[0]


def ints(*values: int) -> np.ndarray:
    return np.array(values, np.int64)


EXACT = {
    "slice backwards": ([("Slice", "x b e a s", {})], {"b": ints(5), "e": ints(-99), "a": ints(1), "s": ints(-2)}),
    "slice": ([("Slice", "x b e a", {})], {"b": ints(2), "e": ints(-3), "a": ints(2)}),
    "reflected": ([("Pad", "x p", {"mode": "reflect"})], {"p": ints(0, 0, 3, 0, 0, 2)}),
    "gathered from the end": ([("Gather", "x i", {"axis": 1})], {"i": ints(-1, 0)}),
    "reshaped": ([("Reshape", "x n", {})], {"n": ints(0, 2, -1)}),
    "leaky": ([("LeakyRelu", "x", {"alpha": 0.2})], {}),
    "power": ([("Pow", "x two", {})], {"two": np.float32(2)}),
    "stretched": ([("Resize", "x  k", {"mode": "linear", "coordinate_transformation_mode": "half_pixel"})],
                  {"k": np.array([1, 1, 2.5], np.float32)}),
    "repeated": ([("Resize", "x  k", {"mode": "nearest", "coordinate_transformation_mode": "asymmetric",
                                      "nearest_mode": "floor"})], {"k": np.array([1, 1, 2], np.float32)}),
}  # fmt: skip


@pytest.mark.parametrize("name", EXACT)
def test_an_operator_does_as_the_reference_does(tmp_path: Path, name: str) -> None:
    (kind, inputs, attributes), kept = EXACT[name][0][0], EXACT[name][1]
    ours, theirs = both(tmp_path, [helper.make_node(kind, inputs.split(" "), ["y"], **attributes)], kept)
    assert ours.shape == theirs.shape and np.abs(ours - theirs).max() < 1e-5


def test_int8_weights_do_as_the_reference_does_but_for_its_rounding(tmp_path: Path) -> None:
    """The reference rounds what goes in to 8 bits, too: about 1 % of the outcome's spread."""
    weights = DICE.integers(0, 255, (20, 7)).astype(np.uint8)
    nodes = [
        helper.make_node("DynamicQuantizeLinear", ["x"], ["q", "s", "z"]),
        helper.make_node("MatMulInteger", ["q", "w", "z", "wz"], ["i"]),
        helper.make_node("Cast", ["i"], ["f"], to=TensorProto.FLOAT),
        helper.make_node("Mul", ["s", "ws"], ["scale"]),
        helper.make_node("Mul", ["f", "scale"], ["y"]),
    ]
    ours, theirs = both(tmp_path, nodes, {"w": weights, "wz": np.uint8(120), "ws": np.float32(0.01)})
    assert np.abs(ours - theirs).max() < 0.03 * theirs.std()


def test_an_operator_that_is_not_known_is_named(tmp_path: Path) -> None:
    with pytest.raises(KeyError, match="Erf"):
        both(tmp_path, [helper.make_node("Erf", ["x"], ["y"])], {})


def test_sound_and_style_come_to_the_device_by_themselves(tmp_path: Path) -> None:
    """The device 'meta' holds no values, but like a GPU refuses what lies elsewhere."""
    nodes = [
        helper.make_node("DynamicQuantizeLinear", ["x"], ["q", "s", "z"]),
        helper.make_node("MatMulInteger", ["q", "w", "z", "wz"], ["y"]),
    ]
    kept = {"w": DICE.integers(0, 255, (20, 7)).astype(np.uint8), "wz": np.uint8(120)}
    file = graph_file(tmp_path, nodes, kept, X)
    assert Graph(file, torch.device("meta"))(x=torch.from_numpy(X)).device.type == "meta"
