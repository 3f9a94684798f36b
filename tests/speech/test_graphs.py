"""The graphs that ship accept what the grammars accept: read here without the tools that made them."""

import shutil
import struct
import subprocess
import sys
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from random import Random

import pytest

from assistant.shelf import grammars_folder, model_folder
from assistant.speech import grammars
from assistant.speech.grammars import grammar, lexicon, listened_under, vocabulary
from assistant.speech.jsgf import GrammarError
from assistant.speech.model import _checked
from assistant.speech.sampler import count, sample, sentences
from assistant.speech.understand import understand
from assistant.train.kaldi import FormatError, PhoneState, Reader, Writer, read_transitions, write_transitions
from assistant.train.lexicon import Phones, positioned

GRAPH = model_folder() / "graph"
ACOUSTIC = model_folder() / "am" / "final.mdl"
INFINITE = float("inf")


@dataclass
class Acceptor:
    """A graph of one ask: OpenFst's 'const' file (header, states of 20 bytes, arcs of 16)."""

    start: int
    final: list[float]
    arcs: list[list[tuple[int, float, int]]]

    @classmethod
    def read(cls, file: Path) -> "Acceptor":
        content = file.read_bytes()
        at, kinds = 4, []
        for _ in range(2):
            (size,) = struct.unpack_from("<i", content, at)
            kinds.append(content[at + 4 : at + 4 + size])
            at += 4 + size
        assert kinds == [b"const", b"standard"]
        version, flags, _, start, states, arcs = struct.unpack_from("<iiQqqq", content, at)
        assert (version, flags) == (2, 0)
        at += 40
        table = [struct.unpack_from("<fIIII", content, at + 20 * each) for each in range(states)]
        at += 20 * states
        rows = [struct.unpack_from("<iifi", content, at + 16 * each) for each in range(arcs)]
        assert at + 16 * arcs == len(content)
        assert all(heard == said != 0 for heard, said, _, _ in rows), "an acceptor over words, no epsilon"
        outgoing = [
            [(row[0], row[2], row[3]) for row in rows[place : place + number]] for _, place, number, _, _ in table
        ]
        return cls(start, [each[0] for each in table], outgoing)

    def cost(self, words: list[int]) -> float:
        """Weight of the one path for these words, infinite where there is none."""
        state, cost = self.start, 0.0
        for word in words:
            ways = [(weight, end) for label, weight, end in self.arcs[state] if label == word]
            assert len(ways) <= 1, "deterministic"
            if not ways:
                return INFINITE
            cost, state = cost + ways[0][0], ways[0][1]
        return cost + self.final[state]


@pytest.fixture(scope="module")
def ids() -> dict[str, int]:
    lines = (GRAPH / "words.txt").read_text(encoding="utf-8").splitlines()
    return {word: int(number) for word, number in (line.split() for line in lines)}


@pytest.fixture(params=listened_under())
def ask(request: pytest.FixtureRequest) -> str:
    return request.param


def test_the_word_table_is_the_lexicon_and_the_unknown(ids: dict[str, int]) -> None:
    assert set(ids) == {"<eps>", "[unk]", *lexicon()}
    assert sorted(ids.values()) == list(range(len(ids)))


def test_every_sentence_is_accepted_for_nothing(ask: str, ids: dict[str, int]) -> None:
    acceptor, source, dice = Acceptor.read(GRAPH / "asks" / f"{ask}.fst"), grammar(ask), Random(ask)
    some = sentences(source) if count(source) < 5000 else (sample(source, dice) for _ in range(2000))
    for sentence in some:
        assert acceptor.cost([ids[word] for word in sentence.split()]) == 0, sentence


def test_nothing_else_is_accepted(ask: str, ids: dict[str, int]) -> None:
    """Sentences with a word dropped, doubled or changed are accepted exactly where the grammar accepts them."""
    acceptor, source, dice = Acceptor.read(GRAPH / "asks" / f"{ask}.fst"), grammar(ask), Random(ask)
    words, refused = sorted(vocabulary()), 0
    for _ in range(1000):
        sentence = sample(source, dice).split()
        place = dice.randrange(len(sentence))
        changed = [[], [dice.choice(words)], [sentence[place]] * 2][dice.randrange(3)]
        sentence[place : place + 1] = changed
        wanted = not sentence or understand(" ".join(sentence), source) is not None
        refused += not wanted
        assert (acceptor.cost([ids[word] for word in sentence]) == 0) is wanted, sentence
    assert refused > 300


def test_other_speech_and_noise_have_their_paths(ask: str, ids: dict[str, int]) -> None:
    acceptor, unknown = Acceptor.read(GRAPH / "asks" / f"{ask}.fst"), ids["[unk]"]
    assert acceptor.cost([]) == 0
    once = acceptor.cost([unknown])
    assert -20 < once < 20
    assert acceptor.cost([unknown] * 3) == pytest.approx(3 * once)
    first = ids[sample(grammar(ask), Random(1)).split()[0]]
    assert acceptor.cost([unknown, first]) == acceptor.cost([first, unknown]) == INFINITE


def test_the_graphs_are_small() -> None:
    assert all(file.stat().st_size < 100_000 for file in (GRAPH / "asks").iterdir())


def test_a_word_the_lexicon_lacks_is_named(tmp_path: Path) -> None:
    text = (grammars_folder() / "lexicon.txt").read_text(encoding="utf-8")
    short = tmp_path / "lexicon.txt"
    short.write_text(
        "".join(f"{line}\n" for line in text.splitlines() if line.split()[:1] != ["hooked"]), encoding="utf-8"
    )
    with pytest.raises(GrammarError, match="lacks hooked"):
        grammars.lexicon(short)


def test_every_pronunciation_is_made_of_the_models_phones() -> None:
    phones = Phones(GRAPH / "phones.txt")
    spoken = {phone for ways in lexicon().values() for way in ways for phone in positioned(way)}
    assert spoken <= set(phones.number)


def test_the_phone_table_is_the_acoustic_models() -> None:
    phones, states = Phones(GRAPH / "phones.txt"), read_transitions(ACOUSTIC)
    phones.check(states)
    assert (GRAPH / "phones" / "word_boundary.int").read_text(encoding="utf-8") == phones.boundaries()
    assert int((GRAPH / "disambig_tid.int").read_text(encoding="utf-8")) == phones.unused_label
    with pytest.raises(ValueError, match="156"):
        phones.check(states[:-1])
    twisted = [
        PhoneState(each.phone, each.first_output + (each.phone == phones.number["T_E"]), each.rest_output)
        for each in states
    ]
    with pytest.raises(ValueError, match="phone T:"):
        phones.check(twisted)


def test_transition_ids_are_the_self_loop_and_then_the_way_out() -> None:
    phones = Phones(GRAPH / "phones.txt")
    assert [(phones.loop(name), phones.forward(name)) for name in ("SIL", "AA_B", "ZH_S")] == [
        (1, 2),
        (3, 4),
        (313, 314),
    ]


TOOLS_MISSING = shutil.which("fstconvert") is None or find_spec("pynini") is None


@pytest.mark.skipif(TOOLS_MISSING, reason="needs pynini (extra 'train') and OpenFst's fstconvert")
def test_the_graphs_that_ship_are_what_the_grammars_and_weights_give(tmp_path: Path) -> None:
    made = shutil.copytree(model_folder(), tmp_path / "model")
    # In a process of its own: pynini and vosk cannot be loaded together.
    subprocess.run([sys.executable, "-m", "assistant.train.graph", str(made)], check=True)
    assert _files(made / "graph") == _files(GRAPH)
    assert (made / "SHA256SUMS").read_bytes() == (model_folder() / "SHA256SUMS").read_bytes()


def _files(folder: Path) -> dict[Path, bytes]:
    return {each.relative_to(folder): each.read_bytes() for each in folder.rglob("*") if each.is_file()}


def test_places_in_a_word() -> None:
    assert positioned(("AH",)) == ("AH_S",)
    assert positioned(("T", "UW")) == ("T_B", "UW_E")
    assert positioned(("HH", "EH", "L", "P")) == ("HH_B", "EH_I", "L_I", "P_E")


def test_written_transitions_are_the_acoustic_models_own_bytes() -> None:
    writer = Writer()
    write_transitions(writer, read_transitions(ACOUSTIC))
    assert ACOUSTIC.read_bytes().startswith(writer.content)


def test_what_is_written_is_read_again() -> None:
    writer = Writer()
    writer.token("<A>")
    writer.integer(-3)
    writer.real(0.5)
    writer.integers([1, 2, 3])
    writer.array([1.0, 2.0])
    writer.array([[1.0, 2.0], [3.0, 4.0]])
    reader = Reader(writer.content)
    reader.expect("<A>")
    assert (reader.integer(), reader.real(), reader.integers()) == (-3, 0.5, [1, 2, 3])
    assert reader.vector().tolist() == [1.0, 2.0]
    assert reader.matrix().tolist() == [[1.0, 2.0], [3.0, 4.0]]
    with pytest.raises(FormatError, match=r"no token|middle"):
        reader.token()


@pytest.mark.parametrize("content", [b"", b"text", b"\0B<Nnet3> ", b"\0B<TransitionModel> <Topology> \4"])
def test_another_file_is_no_acoustic_model(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "final.mdl").write_bytes(content)
    with pytest.raises(FormatError):
        read_transitions(tmp_path / "final.mdl")


def test_the_shipped_files_are_the_listed_ones() -> None:
    assert len(_checked(model_folder())) == 64
    listed = {line.split(maxsplit=1)[1] for line in (model_folder() / "SHA256SUMS").read_text("utf-8").splitlines()}
    there = {each.relative_to(model_folder()).as_posix() for each in model_folder().rglob("*") if each.is_file()}
    assert there - {"SHA256SUMS"} == listed
