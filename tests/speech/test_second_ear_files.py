"""The weights' file to the byte, its checksums, and words as the network's tokens."""

import hashlib
import json
import struct
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit, Refusal
from assistant.speech.second_ear_files import (
    EMBEDDINGS,
    LEFT,
    RIGHT,
    STEP,
    Spelling,
    check,
    correct,
    halve,
    read_weights,
    weights_folder,
)


def text(value: str) -> bytes:
    return struct.pack("<H", len(value) + 1) + value.encode() + b"\0"


def array(name: str, kind: int, content: bytes, *shape: int) -> bytes:
    return text(name) + struct.pack(f"<B{len(shape)}IBI", len(shape), *shape, kind, len(content)) + content


def test_the_format_is_read_as_ctranslate2_writes_it(tmp_path: Path) -> None:
    """ModelSpec.save of CTranslate2 4.8 (python/ctranslate2/specs/model_spec.py)."""
    halves = np.array([[1.5, -2.0], [0.25, 8.0], [3.0, 4.0]], "<f2")
    arrays = (
        array("decoder/pre_norm", 1, b"\1"),
        array(EMBEDDINGS, 4, halves.tobytes(), 3, 2),
        array("encoder/conv1/bias", 0, np.array([0.1, 0.2], "<f4").tobytes(), 2),
    )
    aliases = struct.pack("<I", 1) + text("decoder/projection/weight") + text(EMBEDDINGS)
    head = struct.pack("<I", 6) + text("WhisperSpec") + struct.pack("<II", 3, len(arrays))
    (tmp_path / "model.bin").write_bytes(head + b"".join(arrays) + aliases)
    found = read_weights(tmp_path / "model.bin")
    assert set(found) == {EMBEDDINGS, "encoder/conv1/bias"}
    assert found[EMBEDDINGS].tolist() == halves.tolist()
    assert isinstance(found[EMBEDDINGS], np.memmap), "few of its rows are needed"
    assert found["encoder/conv1/bias"] == pytest.approx([0.1, 0.2])
    assert found["encoder/conv1/bias"].dtype == np.float32


def test_a_changed_or_missing_file_is_refused_by_name(tmp_path: Path) -> None:
    sums = {"a.bin": hashlib.sha256(b"right").hexdigest()}
    with pytest.raises(Refusal, match=r"a\.bin: is missing.*pip install") as missing:
        check(tmp_path, sums)
    assert missing.value.code is Exit.BAD_MODEL
    (tmp_path / "a.bin").write_bytes(b"wrong")
    with pytest.raises(Refusal, match=r"a\.bin: has a wrong checksum"):
        check(tmp_path, sums)
    (tmp_path / "a.bin").write_bytes(b"right")
    check(tmp_path, sums)


def test_a_correction_is_added_to_what_it_names_and_to_nothing_else(tmp_path: Path) -> None:
    """(2, 1) times (1, 3) on a matrix, a vector on a vector; by hand."""
    weights = {"a/weight": np.ones((2, 3), np.float32), "a/bias": np.array([1.0, 2.0], np.float32),
               "b/weight": np.zeros((1, 1), np.float32)}  # fmt: skip
    halves = {"a/weight" + LEFT: [[1.0], [-2.0]], "a/weight" + RIGHT: [[0.0, 1.0, 4.0]], "a/bias": [0.5, -1.0]}
    np.savez(tmp_path / "c.npz", **{name: np.array(each, np.float16) for name, each in halves.items()})
    given = dict(weights)
    correct(weights, tmp_path / "c.npz")
    assert weights["a/weight"].tolist() == [[1.0, 2.0, 5.0], [1.0, -1.0, -7.0]]
    assert weights["a/bias"].tolist() == [1.5, 1.0]
    assert weights["b/weight"].tolist() == [[0.0]]
    assert all(weights[name] is given[name] for name in given), "no copies: the system hardly ever gets them back"


def test_a_layers_matrix_is_kept_in_16_bits_by_its_rows() -> None:
    """Steps 2 and 1/2 by hand; a row of noughts is no division by nought; nothing else is touched."""
    matrix, others = "decoder/layer_0/ffn/linear_1/weight", ("encoder/conv1/weight", "a/linear_0/bias", EMBEDDINGS)
    given = np.array([[65534, -2, 3], [0.5, 0.24, -16383.5], [0, 0, 0]], np.float32)
    weights = {each: given.copy() for each in (matrix, *others)}
    with np.errstate(all="raise"):
        halve(weights)
    assert weights[matrix].dtype == np.int16
    assert weights[matrix].tolist() == [[32767, -1, 2], [1, 0, -32767], [0, 0, 0]]
    assert weights[matrix + STEP].tolist()[:2] == [2.0, 0.5]
    assert {*weights} == {matrix, matrix + STEP, *others}
    assert all((weights[each] == given).all() and weights[each].dtype == np.float32 for each in others)


def whole() -> bytes:
    file = BytesIO()
    np.savez(file, **{"a/bias": np.zeros(100, np.float16)})
    return file.getvalue()


@pytest.mark.parametrize("content", [None, b"", b"no archive", whole()[:-9], whole().replace(bytes(100), b"\1" * 100)])
def test_a_correction_that_is_missing_or_damaged_is_refused(content: bytes | None, tmp_path: Path) -> None:
    file = tmp_path / "c.npz"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(Refusal, match=r"second ear .*c\.npz: is missing or damaged; install it again"):
        correct({"a/bias": np.zeros(100, np.float32)}, file)


def table(folder: Path) -> Spelling:
    numbers = {part: number for number, part in enumerate(["Ġ", "a", "b", "c", "ab", "Ġab", "bc", "."])}
    content = {
        "model": {"vocab": numbers, "merges": ["b c", "a b", "Ġ ab"]},
        "added_tokens": [{"content": "<|endoftext|>", "id": 50256}],
    }
    (folder / "tokenizer.json").write_text(json.dumps(content), encoding="utf-8")
    return Spelling(folder / "tokenizer.json")


def test_pairs_are_merged_in_the_order_of_the_table_not_of_the_word(tmp_path: Path) -> None:
    """'b c' comes first in the table: abc is a + bc, though ab stands further left."""
    spelling = table(tmp_path)
    assert spelling.tokens("abc") == (0, 1, 6)
    assert spelling.tokens("ab") == (5,)
    assert spelling.text((5, 0, 1, 6, 7)) == " ab abc."
    assert spelling.marks["<|endoftext|>"] == 50256


@pytest.mark.skipif(weights_folder() is None, reason="the extra second-ear is not installed")
@pytest.mark.parametrize(
    ("word", "tokens"),
    [("eleven", (22216,)), ("eighths", (304, 394, 9998)), ("millimetres", (3939, 38813, 411)), ("3/8", (513, 14, 23))],
)
def test_trade_words_are_spelt_as_the_tokenizers_library_spells_them(word: str, tokens: tuple[int, ...]) -> None:
    """Numbers from Hugging Face tokenizers 0.23.3 on the same tokenizer.json, ' ' + word."""
    folder = weights_folder()
    assert folder is not None
    assert Spelling(folder / "tokenizer.json").tokens(word) == tokens
