"""The packed file, read as Kaldi would read it: its own config lines are followed, component by component.

The reader below knows Kaldi's nnet3 text ('component-node', 'Append', 'Offset', 'Sum', 'Scale') and the binary
parameters of four components, from memory of Kaldi's documentation; it shares nothing with pack or unpack. The expected
scores come from loops over the weights before they were packed, batch norms and all. No torch.
"""

import re
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from assistant.shelf import model_folder
from assistant.speech import witness_net
from assistant.train.kaldi import read_transitions
from assistant.train.pack import write_model, write_witness
from tests.train.by_hand import forward, random_weights

STATES = read_transitions(model_folder() / "am" / "final.mdl")


@dataclass(frozen=True)
class Widths:
    outputs: int = 6
    inputs: int = 5
    wide: int = 8
    narrow: int = 3


class Nnet3:
    """A network file."""

    def __init__(self, content: bytes) -> None:
        text, _, binary = content[content.index(b"<Nnet3> ") + 8 :].partition(b"\n\n")
        nodes = [dict(re.findall(r"(\w[\w-]*)=(.*?)(?= \w+=|$)", line)) for line in text.decode().strip().splitlines()]
        self.sources = {node["name"]: node["input"] for node in nodes if "input" in node}
        self.component = {node["name"]: node["component"] for node in nodes if "component" in node}
        self.parts = {
            each.split(b" ", 1)[0].decode(): each.split(b" ", 1)[1] for each in binary.split(b"<ComponentName> ")[1:]
        }
        end = binary[binary.rindex(b"</Nnet3> ") :]
        left, right = re.search(rb"<LeftContext> \x04(.{4})<RightContext> \x04(.{4})", end, re.DOTALL).groups()
        self.context = struct.unpack("<i", left)[0], struct.unpack("<i", right)[0]
        self.count = struct.unpack_from("<i", binary, binary.index(b"<NumComponents> ") + 17)[0]
        self.known: dict[tuple[str, int], np.ndarray] = {}

    def score(self, cepstra: np.ndarray, frame: int) -> np.ndarray:
        self.cepstra, self.known = cepstra, {}
        return self.value(self.sources["output"], frame)

    def value(self, told: str, frame: int) -> np.ndarray:
        """A descriptor at a frame."""
        told = told.strip()
        kind, _, inside = told.partition("(")
        if not inside:
            return self.node(told, frame)
        parts = self.arguments(inside[:-1])
        if kind == "Append":
            return np.concatenate([self.value(each, frame) for each in parts])
        if kind == "Offset":
            return self.value(parts[0], frame + int(parts[1]))
        if kind == "Sum":
            assert len(parts) == 2, "Kaldi adds two at a time"
            return self.value(parts[0], frame) + self.value(parts[1], frame)
        assert kind == "Scale"
        return float(parts[0]) * self.value(parts[1], frame)

    @staticmethod
    def arguments(told: str) -> list[str]:
        deep, parts = 0, [""]
        for sign in told:
            deep += (sign == "(") - (sign == ")")
            if sign == "," and deep == 0:
                parts.append("")
            else:
                parts[-1] += sign
        return parts

    def node(self, name: str, frame: int) -> np.ndarray:
        if name == "input":
            assert 0 <= frame < len(self.cepstra), "looks beyond the context it says it needs"
            return self.cepstra[frame]
        if (name, frame) not in self.known:
            self.known[name, frame] = self.compute(name, frame)
        return self.known[name, frame]

    def compute(self, name: str, frame: int) -> np.ndarray:
        part = self.parts[self.component[name]]
        kind = part.split(b" ", 1)[0]
        if kind == b"<AffineComponent>":
            return self.linear(part, self.value(self.sources[name], frame))
        if kind == b"<TdnnComponent>":
            at = part.index(b"<TimeOffsets> ") + 15
            (count,) = struct.unpack_from("<i", part, at)
            offsets = struct.unpack_from(f"<{count}i", part, at + 4)
            return self.linear(part, np.concatenate([self.value(self.sources[name], frame + k) for k in offsets]))
        heard = self.value(self.sources[name], frame)
        if kind == b"<RectifiedLinearComponent>":
            return np.maximum(heard, 0)
        assert kind == b"<NoOpComponent>"
        return heard

    @staticmethod
    def linear(part: bytes, x: np.ndarray) -> np.ndarray:
        at = part.index(b"<LinearParams> ") + 15
        if part.startswith(b"CM2 ", at):
            least, spread, rows, columns = struct.unpack_from("<ffii", part, at + 4)
            matrix = least + spread * np.frombuffer(part, "<u2", rows * columns, at + 20) / 65535.0
        else:
            assert part.startswith(b"FM \x04", at)
            rows, columns = struct.unpack_from("<i", part, at + 4)[0], struct.unpack_from("<i", part, at + 9)[0]
            matrix = np.frombuffer(part, "<f4", rows * columns, at + 13)
        y = matrix.reshape(rows, columns) @ x
        at = part.index(b"<BiasParams> FV \x04") + 17
        (length,) = struct.unpack_from("<i", part, at)
        return y + np.frombuffer(part, "<f4", length, at + 4) if length else y


@pytest.fixture(scope="module")
def weights() -> dict[str, np.ndarray]:
    return random_weights(Widths(), 11)


@pytest.fixture
def packed(tmp_path: Path, weights: dict[str, np.ndarray]) -> Nnet3:
    write_model([weights], STATES, tmp_path / "final.mdl")
    return Nnet3((tmp_path / "final.mdl").read_bytes())


def test_the_packed_file_scores_what_the_weights_score(packed: Nnet3, weights: dict[str, np.ndarray]) -> None:
    """To the steps of 16 bits, some 4 parts in a million a weight: a thousandth of the largest score is allowed."""
    assert packed.context == (34, 34)
    cepstra = np.random.default_rng(2).normal(0, 2, (2 * 34 + 7, 5))
    for frame in range(34, 41):
        wanted = forward(weights, cepstra, frame)
        assert np.abs(packed.score(cepstra, frame) - wanted).max() < 1e-3 * np.abs(wanted).max()


def test_the_witness_scores_what_the_weights_score(
    tmp_path: Path, weights: dict[str, np.ndarray], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In numpy, to the steps of 16-bit floats, 5 parts in 10,000 a weight; every third frame, the edges repeated."""
    write_witness(weights, tmp_path / "weights.npz")
    with np.load(tmp_path / "weights.npz") as found:
        narrow = dict(found)
    mine = {name: each.astype(np.float32) for name, each in narrow.items()}
    cepstra = np.random.default_rng(2).normal(0, 2, (8, 5)).astype(np.float32)
    monkeypatch.setattr(witness_net, "cepstra", lambda samples: cepstra)
    made = witness_net.scores(np.zeros(1, np.float32), mine)
    around = np.concatenate([cepstra[:1].repeat(34, 0), cepstra, cepstra[-1:].repeat(40, 0)])
    wanted = np.array([forward(weights, around, 34 + frame) for frame in (0, 3, 6)])
    assert made.shape == wanted.shape
    assert np.abs(made - wanted).max() < 1e-2 * np.abs(wanted).max()
    assert {each.dtype for name, each in narrow.items() if name.endswith("weight")} == {np.dtype(np.float16)}
    assert np.array_equal(witness_net.scores(np.zeros(1, np.float32), narrow), made)


def test_it_needs_the_context_it_names(packed: Nnet3) -> None:
    """Not a frame less; what it asks beyond is an error in the reader above."""
    cepstra = np.random.default_rng(2).normal(0, 2, (2 * 34, 5))
    with pytest.raises(AssertionError, match="looks beyond"):
        packed.score(cepstra, 34)
    with pytest.raises(AssertionError, match="looks beyond"):
        packed.score(cepstra, 33)


def test_every_node_has_its_component_and_the_file_says_how_many(packed: Nnet3) -> None:
    assert len(packed.parts) == len(packed.component) == packed.count == 2 + 4 * 14 + 4
    assert set(packed.component.values()) == set(packed.parts)


def test_the_scale_multiplies_all_scores(tmp_path: Path, packed: Nnet3, weights: dict[str, np.ndarray]) -> None:
    write_model([weights], STATES, tmp_path / "loud.mdl", scale=2.5)
    cepstra = np.random.default_rng(3).normal(0, 2, (69, 5))
    loud = Nnet3((tmp_path / "loud.mdl").read_bytes()).score(cepstra, 34)
    assert loud == pytest.approx(2.5 * packed.score(cepstra, 34), abs=1e-3)


@pytest.mark.parametrize("more", [1, 2])
def test_networks_of_any_width_score_their_mean(tmp_path: Path, weights: dict[str, np.ndarray], more: int) -> None:
    networks = [weights, *(random_weights(Widths(wide=10 + each, narrow=4), each) for each in range(more))]
    write_model(networks, STATES, tmp_path / "all.mdl", scale=3.0)
    packed, cepstra = Nnet3((tmp_path / "all.mdl").read_bytes()), np.random.default_rng(3).normal(0, 2, (69, 5))
    wanted = 3.0 * np.mean([forward(each, cepstra, 34) for each in networks], axis=0)
    assert packed.score(cepstra, 34) == pytest.approx(wanted, abs=1e-3 * np.abs(wanted).max())


def test_the_phones_stay_what_they_were(tmp_path: Path, weights: dict[str, np.ndarray]) -> None:
    """A model packed over another one's place keeps its transitions: pack can be run again and again."""
    for _ in range(2):
        write_model([weights], STATES, tmp_path / "final.mdl")
        assert read_transitions(tmp_path / "final.mdl") == STATES


def test_the_shipped_model_is_such_a_file() -> None:
    shipped = Nnet3((model_folder() / "am" / "final.mdl").read_bytes())
    assert shipped.context == (34, 34)
    cepstra = np.random.default_rng(4).normal(0, 5, (69, 40))
    assert shipped.score(cepstra, 34).shape == (80,)
