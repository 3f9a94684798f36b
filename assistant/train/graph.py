"""Grammars and lexicon -> the graphs the recogniser uses (build time only: pynini and OpenFst's tools).

Never import this where vosk is imported: both carry OpenFst, and together in one process they hang.

HCLr.fst   phones to words, shared by all asks; relabelled for look-ahead composition, so words.txt holds the NEW ids
asks/      one acceptor per ask over those word ids: the grammar's sentences, '[unk]' or nothing (noise)

A state of HCL after phone p carries p's self-loop; the arc into it is p's forward transition. Word labels sit on the
first phone. Position-dependent phones (_B _E _I _S) share their outputs. '[unk]' is any chain of two or more phones.
"""

import hashlib
import os
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pynini
from pywrapfst import Arc

from assistant.speech.grammars import grammar, lexicon, listened_under
from assistant.speech.jsgf import Alternatives, Expansion, Grammar, GrammarError, Optional, RuleRef, Sequence, Tag, Word
from assistant.speech.model import UNKNOWN
from assistant.train.kaldi import read_transitions
from assistant.train.lexicon import SILENCE, Phones, positioned
from assistant.train.outcome import outcome


@dataclass(frozen=True)
class Costs:
    """Negative log weights, from the model's graphs.toml."""

    silence: float
    """Either side of the optional silence between words."""
    word: float
    """Each word."""
    first_phone: float
    """Of '[unk]'."""
    phone: float
    """Each further one."""
    last_phone: float
    unknown: float
    """'[unk]' as a whole, in the ask's graph; lower = more speech is turned away."""
    words: Mapping[str, float] = field(default_factory=dict)
    """Of single words besides; under 0 = said often."""


Lexicon = Mapping[str, tuple[tuple[str, ...], ...]]


class _Builder:
    """HCL as it grows."""

    def __init__(self, phones: Phones, costs: Costs, ids: Mapping[str, int]) -> None:
        self.fst, self.phones, self.costs, self.ids = pynini.Fst(), phones, costs, ids
        self.begin, self.word_start, self.word_end, silence = (self.fst.add_state() for _ in range(4))
        self.fst.set_start(self.begin)
        for state in (self.begin, self.word_end):
            self.arc(state, 0, 0, costs.silence, self.word_start)
            self.arc(state, phones.forward(SILENCE), 0, costs.silence, silence)
        self.arc(silence, phones.loop(SILENCE), 0, 0.0, silence)
        self.arc(silence, 0, 0, 0.0, self.word_start)
        self.fst.set_final(self.word_start, 0)

    def arc(self, start: int, heard: int, said: int, cost: float, end: int) -> None:
        self.fst.add_arc(start, Arc(heard, said, cost, end))

    def phone(self, start: int, name: str, said: int = 0, cost: float = 0.0) -> int:
        state = self.fst.add_state()
        self.arc(start, self.phones.forward(name), said, cost, state)
        self.arc(state, self.phones.loop(name), 0, 0.0, state)
        return int(state)

    def word(self, word: str, phones: tuple[str, ...]) -> None:
        state, first = self.word_start, self.costs.word + self.costs.words.get(word, 0.0)
        for place, phone in enumerate(positioned(phones)):
            said, cost = (self.ids[word], first) if place == 0 else (0, 0.0)
            state = self.phone(state, phone, said, cost)
        self.arc(state, 0, 0, 0.0, self.word_end)

    def unknown(self) -> None:
        middle = self.fst.add_state()
        for name in self.phones.plain:
            start = self.phone(
                self.word_start, f"{name}_B", self.ids[UNKNOWN], self.costs.first_phone + self.costs.word
            )
            self.arc(start, 0, 0, 0.0, middle)
        for name in self.phones.plain:
            self.arc(self.phone(middle, f"{name}_I", 0, self.costs.phone), 0, 0, 0.0, middle)
            end = self.phone(middle, f"{name}_E", 0, self.costs.phone)
            self.arc(end, 0, 0, self.costs.last_phone, self.word_end)


def build_lexicon_graph(phones: Phones, words: Lexicon, costs: Costs, out: Path) -> dict[str, int]:
    """Write HCLr.fst and words.txt into `out`; the word ids that grammar graphs must use."""
    ids = {word: number for number, word in enumerate([*sorted(words), UNKNOWN], start=1)}
    builder = _Builder(phones, costs, ids)
    for word, pronunciations in words.items():
        for each in pronunciations:
            builder.word(word, each)
    builder.unknown()
    builder.fst.arcsort("olabel")
    with tempfile.TemporaryDirectory() as folder:
        plain, pairs = Path(folder, "HCL.fst"), Path(folder, "pairs")
        builder.fst.write(str(plain))
        _convert("--fst_type=olabel_lookahead", f"--save_relabel_opairs={pairs}", str(plain), str(out / "HCLr.fst"))
        lines = (line.split() for line in pairs.read_text(encoding="utf-8").splitlines())
        new = {int(old): int(changed) for old, changed in lines}
    ids = {word: new.get(number, number) for word, number in ids.items()}
    table = [f"{word} {number}" for word, number in sorted(ids.items(), key=lambda each: each[1])]
    (out / "words.txt").write_text("\n".join(["<eps> 0", *table]) + "\n", encoding="utf-8")
    return ids


def _convert(*arguments: str) -> None:
    # Debian keeps the look-ahead type in a plug-in folder off the loader's path.
    paths = [os.environ.get("LD_LIBRARY_PATH", ""), *map(str, Path("/usr/lib").glob("*/fst/*"))]
    environment = {**os.environ, "LD_LIBRARY_PATH": ":".join(each for each in paths if each)}
    subprocess.run(["fstconvert", *arguments], check=True, env=environment)


def grammar_graph(source: Grammar, ids: Mapping[str, int], unknown_cost: float) -> pynini.Fst:
    """The strict acceptor of one ask: its sentences, one or more '[unk]' at `unknown_cost` each, or nothing."""
    graph: pynini.Fst = pynini.determinize(_acceptor(source.root, source, ids, {}).rmepsilon()).minimize()
    # By hand, for a loop that pays has no shortest path, which determinising and minimising would look for.
    unknown, start = graph.add_state(), graph.start()
    for state in (start, unknown):
        graph.add_arc(state, Arc(ids[UNKNOWN], ids[UNKNOWN], unknown_cost, unknown))
        graph.set_final(state, 0)
    graph.arcsort("ilabel")
    return graph


def _one(label: int) -> pynini.Fst:
    fst = pynini.Fst()
    start, end = fst.add_state(), fst.add_state()
    fst.set_start(start)
    fst.set_final(end, 0)
    fst.add_arc(start, Arc(label, label, 0, end))
    return fst


def _acceptor(part: Expansion, source: Grammar, ids: Mapping[str, int], done: dict[str, pynini.Fst]) -> pynini.Fst:
    match part:
        case Word(text):
            return _one(ids[text])
        case Tag():
            return pynini.accep("")
        case RuleRef(name):
            if name not in done:
                made = _acceptor(source.rule(name), source, ids, done).rmepsilon()
                done[name] = pynini.determinize(made).minimize()
            return done[name].copy()
        case Optional(inner):
            return pynini.union(_acceptor(inner, source, ids, done), pynini.accep(""))
        case Alternatives(choices):
            return pynini.union(*(_acceptor(each, source, ids, done) for each in choices))
        case Sequence(parts):
            whole = _acceptor(parts[0], source, ids, done)
            for each in parts[1:]:
                whole = pynini.concat(whole, _acceptor(each, source, ids, done))
            return whole


def build_graphs(model: Path) -> None:
    """Write every graph of the model folder from its final.mdl, phones.txt, graphs.toml, the grammars and the lexicon.

    Raises GrammarError naming words of the grammars or of graphs.toml that the lexicon lacks, FormatError where
    phones.txt and final.mdl differ.
    """
    costs = Costs(**tomllib.loads((model / "graphs.toml").read_text(encoding="utf-8")))
    if strange := costs.words.keys() - lexicon().keys():
        raise GrammarError(f"{model / 'graphs.toml'}: words: {min(strange)} is no word of the lexicon; correct it")
    out = model / "graph"
    phones = Phones(out / "phones.txt")
    phones.check(read_transitions(model / "am" / "final.mdl"))
    (out / "phones").mkdir(exist_ok=True)
    (out / "phones" / "word_boundary.int").write_text(phones.boundaries(), encoding="utf-8")
    (out / "disambig_tid.int").write_text(f"{phones.unused_label}\n", encoding="utf-8")
    ids = build_lexicon_graph(phones, lexicon(), costs, out)
    (out / "asks").mkdir(exist_ok=True)
    for old in (out / "asks").glob("*.fst"):
        old.unlink()
    for ask in listened_under():
        _write_const(grammar_graph(grammar(ask), ids, costs.unknown), out / "asks" / f"{ask}.fst")


def _write_const(fst: pynini.Fst, file: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        plain = Path(folder, "G.fst")
        fst.write(str(plain))
        _convert("--fst_type=const", str(plain), str(file))


def write_sums(model: Path) -> None:
    """SHA256SUMS over every other file of the model folder: 'checksum  name' lines, sorted by name."""
    names = sorted(each.relative_to(model).as_posix() for each in model.rglob("*") if each.is_file())
    lines = [
        f"{hashlib.sha256((model / name).read_bytes()).hexdigest()}  {name}" for name in names if name != "SHA256SUMS"
    ]
    (model / "SHA256SUMS").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _build(model: Path) -> None:
    build_graphs(model)
    write_sums(model)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("python -m assistant.train.graph MODEL_FOLDER")
    sys.exit(outcome(lambda: _build(Path(sys.argv[1]))))
