"""Packed matrices: Kaldi's CompressedMatrix, two bytes a value (from memory; the vosk wheel reads them)."""

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from assistant.train.kaldi import MAGIC, FormatError, Reader, Writer

SHAPES = hnp.array_shapes(min_dims=2, max_dims=2, max_side=6)
VALUES = st.floats(-100, 100, width=32)


def packed(values: np.ndarray) -> bytes:
    writer = Writer()
    writer.packed(values)
    return writer.content


def test_the_bytes_of_a_packed_matrix() -> None:
    head = MAGIC + b"CM2 " + struct.pack("<ffii", -1.0, 2.0, 1, 3)
    assert packed(np.array([[-1.0, 0.0, 1.0]])) == head + struct.pack("<3H", 0, 32768, 65535)


@given(hnp.arrays(np.float32, SHAPES, elements=VALUES))
def test_a_packed_matrix_comes_back_to_half_a_step(values: np.ndarray) -> None:
    back = Reader(packed(values)).matrix()
    assert back.shape == values.shape
    step = float(np.ptp(values)) / 65535
    assert np.abs(back - values).max() <= step / 2 + 1e-5 * np.abs(values).max()


def test_a_whole_matrix_is_read_as_before() -> None:
    writer = Writer()
    writer.array(np.array([[1.0, 2.0], [3.0, 4.0]]))
    assert Reader(writer.content).matrix().tolist() == [[1.0, 2.0], [3.0, 4.0]]


def test_another_token_is_named_with_its_place() -> None:
    writer = Writer()
    writer.token("FV")
    with pytest.raises(FormatError, match="'FM' or 'CM2' expected at byte 2, 'FV' found"):
        Reader(writer.content).matrix()
