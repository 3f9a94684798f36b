"""Kaldi's binary files, as far as a chain model needs them: read and write.

A file begins with the bytes 0 'B'. A token is ASCII and one space. Numbers are little-endian and carry their size in a
byte before them; an integer vector carries one for its count only. Format facts: Kaldi's io-funcs, hmm-topology and
transition-model as documented by the Kaldi project.
"""

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

MAGIC = b"\0B"
PACKED = "CM2"
"""Token of a matrix of 16-bit steps (Kaldi's CompressedMatrix, two bytes a value), which Kaldi reads as any other."""
STEPS = 65535


class FormatError(ValueError):
    """A file is not what was expected; the message says what stands where."""


class Reader:
    """Takes one value after the other from the bytes of a file."""

    def __init__(self, content: bytes) -> None:
        """Raises FormatError where `content` is no binary Kaldi file."""
        if not content.startswith(MAGIC):
            raise FormatError("no binary Kaldi file: it does not begin with 0 'B'")
        self._content, self.at = content, len(MAGIC)

    def _take(self, size: int) -> bytes:
        taken = self._content[self.at : self.at + size]
        if len(taken) < size:
            raise FormatError(f"ends at byte {len(self._content)} in the middle of a value")
        self.at += size
        return taken

    def token(self) -> str:
        """The next token."""
        end = self._content.find(b" ", self.at, self.at + 64)
        if end < 0:
            raise FormatError(f"no token at byte {self.at}")
        return self._take(end - self.at + 1)[:-1].decode("ascii", errors="replace")

    def expect(self, *tokens: str) -> None:
        """Pass over these tokens."""
        for wanted in tokens:
            place, found = self.at, self.token()
            if found != wanted:
                raise FormatError(f"'{wanted}' expected at byte {place}, '{found}' found")

    def integer(self) -> int:
        """A 32-bit integer."""
        if self._take(1) != b"\4":
            raise FormatError(f"no integer at byte {self.at - 1}")
        return int(struct.unpack("<i", self._take(4))[0])

    def real(self) -> float:
        """A float or a double."""
        size = self._take(1)[0]
        if size not in (4, 8):
            raise FormatError(f"no real number at byte {self.at - 1}")
        return float(struct.unpack("<f" if size == 4 else "<d", self._take(size))[0])

    def integers(self) -> list[int]:
        """A vector of 32-bit integers."""
        count = self.integer()
        return list(struct.unpack(f"<{count}i", self._take(4 * count)))

    def vector(self) -> NDArray[np.float32]:
        """A vector of floats."""
        self.expect("FV")
        return np.frombuffer(self._take(4 * self.integer()), "<f4").copy()

    def matrix(self) -> NDArray[np.float32]:
        """A matrix of floats, shape (rows, columns), whole or packed."""
        place, kind = self.at, self.token()
        if kind == PACKED:
            return self._packed()
        if kind != "FM":
            raise FormatError(f"'FM' or '{PACKED}' expected at byte {place}, '{kind}' found")
        rows, columns = self.integer(), self.integer()
        return np.frombuffer(self._take(4 * rows * columns), "<f4").reshape(rows, columns).copy()

    def _packed(self) -> NDArray[np.float32]:
        least, spread, rows, columns = struct.unpack("<ffii", self._take(16))
        steps = np.frombuffer(self._take(2 * rows * columns), "<u2").reshape(rows, columns)
        return (np.float32(least) + np.float32(spread / STEPS) * steps).astype(np.float32)


class Writer:
    """Gathers the bytes of a file."""

    def __init__(self) -> None:
        self._parts = [MAGIC]

    @property
    def content(self) -> bytes:
        """All that was written."""
        return b"".join(self._parts)

    def raw(self, content: bytes) -> None:
        """Bytes as they are."""
        self._parts.append(content)

    def token(self, *tokens: str) -> None:
        """Tokens, a space after each."""
        self._parts += [f"{each} ".encode("ascii") for each in tokens]

    def integer(self, *values: int) -> None:
        """32-bit integers, each by itself."""
        self._parts += [b"\4" + struct.pack("<i", each) for each in values]

    def real(self, *values: float) -> None:
        """Floats, each by itself."""
        self._parts += [b"\4" + struct.pack("<f", each) for each in values]

    def truth(self, value: bool) -> None:
        """'T' or 'F'."""
        self._parts.append(b"T" if value else b"F")

    def integers(self, values: list[int]) -> None:
        """A vector of 32-bit integers."""
        self.integer(len(values))
        self._parts.append(struct.pack(f"<{len(values)}i", *values))

    def array(self, values: ArrayLike) -> None:
        """A vector or matrix of floats, by its number of axes."""
        array = np.ascontiguousarray(values, "<f4")
        self.token("FV" if array.ndim == 1 else "FM")
        self.integer(*array.shape)
        self._parts.append(array.tobytes())

    def packed(self, values: ArrayLike) -> None:
        """A matrix in half the bytes: each value in 16 bits between the least and the largest."""
        array = np.ascontiguousarray(values, "<f4")
        least, spread = float(array.min()), float(np.ptp(array)) or 1.0
        self.token(PACKED)
        self._parts.append(struct.pack("<ffii", least, spread, *array.shape))
        self._parts.append(np.round((array - least) / spread * STEPS).astype("<u2").tobytes())


@dataclass(frozen=True)
class PhoneState:
    """The one emitting state of a chain phone; transition ids count from 1, the self-loop before the way out."""

    phone: int
    """Its number in phones.txt."""
    first_output: int
    """Network output of the phone's first frame."""
    rest_output: int
    """Network output of every further frame."""


def read_transitions(model: Path) -> list[PhoneState]:
    """The phone states of a chain model (final.mdl), in the order of their transition ids.

    Raises FormatError naming the file where it is no chain model with one state a phone.
    """
    try:
        return _states(Reader(model.read_bytes()))
    except FormatError as error:
        raise FormatError(f"{model}: {error}; fetch it again") from None


def _states(reader: Reader) -> list[PhoneState]:
    reader.expect("<TransitionModel>", "<Topology>")
    _skip_topology(reader)
    reader.expect("</Topology>", "<Tuples>")
    states = []
    for _ in range(reader.integer()):
        phone, state, first, rest = (reader.integer() for _ in range(4))
        if state != 0:
            raise FormatError(f"phone {phone} has more than one state")
        states.append(PhoneState(phone, first, rest))
    reader.expect("</Tuples>", "<LogProbs>")
    if len(reader.vector()) != 2 * len(states) + 1:
        raise FormatError("a phone has other transitions than its self-loop and the way out")
    reader.expect("</LogProbs>", "</TransitionModel>")
    return states


def _skip_topology(reader: Reader) -> None:
    reader.integers()
    reader.integers()
    entries = reader.integer()
    if entries != -1:
        raise FormatError("no chain topology: first and further frames of a phone share one output")
    for _ in range(reader.integer()):
        for _ in range(reader.integer()):
            reader.integer()
            reader.integer()
            for _ in range(reader.integer()):
                reader.integer()
                reader.real()


def write_transitions(writer: Writer, states: list[PhoneState]) -> None:
    """The transition model of `states`; every way out of a state has probability one half."""
    phones = [each.phone for each in states]
    writer.token("<TransitionModel>", "<Topology>")
    writer.integers(phones)
    writer.integers([-1] + [0] * max(phones))
    writer.integer(-1, 1, 2)
    writer.integer(0, 1, 2)
    for goal in (0, 1):
        writer.integer(goal)
        writer.real(0.5)
    writer.integer(-1, -1, 0)
    writer.token("</Topology>", "<Tuples>")
    writer.integer(len(states))
    for each in states:
        writer.integer(each.phone, 0, each.first_output, each.rest_output)
    writer.token("</Tuples>", "<LogProbs>")
    writer.array([0.0] + [float(np.log(0.5))] * (2 * len(states)))
    writer.token("</LogProbs>", "</TransitionModel>")
