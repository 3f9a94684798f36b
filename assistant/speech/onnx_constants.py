"""The weights in an ONNX file: as much of Protocol Buffers as that takes.

Format facts: the wire format as documented by the Protocol Buffers project, the fields' numbers of ONNX's onnx.proto.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

_GRAPH, _NODE, _OUTPUT, _ATTRIBUTE, _TENSOR, _INNER, _TYPE, _RAW = 7, 1, 2, 5, 5, 6, 2, 9
_FLOAT = 1
_NUMBER, _BYTES = 0, 2
_FIXED = {1: 8, 5: 4}
"""Kinds of field -> bytes."""


def constants(content: bytes) -> dict[str, NDArray[np.float32]]:
    """Name -> values in a row of every constant of 32-bit floats, those of branches among them.

    Raises ValueError, LookupError or TypeError where it is no such file.
    """
    return {name: values for graph in _all(memoryview(content), _GRAPH) for name, values in _of_graph(graph)}


def _of_graph(graph: memoryview) -> Iterator[tuple[str, NDArray[np.float32]]]:
    for node in _all(graph, _NODE):
        name = b"".join(_all(node, _OUTPUT)).decode()
        for attribute in _all(node, _ATTRIBUTE):
            for inner in _all(attribute, _INNER):
                yield from _of_graph(inner)
            for tensor in _all(attribute, _TENSOR):
                if _FLOAT in _all(tensor, _TYPE):
                    yield name, np.frombuffer(b"".join(_all(tensor, _RAW)), "<f4")


def _all(message: memoryview, wanted: int) -> Iterator[Any]:
    """Every field of that number: an integer, or bytes."""
    at = 0
    while at < len(message):
        key, at = _integer(message, at)
        number, kind = key >> 3, key & 7
        value: int | memoryview = 0
        if kind == _NUMBER:
            value, at = _integer(message, at)
        else:
            size, at = _integer(message, at) if kind == _BYTES else (_FIXED[kind], at)
            value, at = message[at : at + size], at + size
        if number == wanted:
            yield value


def _integer(message: memoryview, at: int) -> tuple[int, int]:
    """Seven bits a byte, the lowest first, until one has its eighth bit clear; the value and what comes after it."""
    value, shift = 0, 0
    while True:
        byte = message[at]
        value, shift, at = value | (byte & 127) << shift, shift + 7, at + 1
        if byte < 128:
            return value, at
