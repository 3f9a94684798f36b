"""A witness: a second, smaller network of our own that heard the same sound and is asked about each candidate.

It searches for nothing. The first network proposes sentences; the witness tells how well it would have heard each.
Two networks trained apart make different mistakes: where both believe a sentence it is seldom wrong. Of the one that
is chosen it tells, too, how well its worst word goes with its own part of the sound, and whether somebody speaks where
the sentence has a pause: a word that nobody said hides in the sum over a long sentence.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.speech import witness_net as net
from assistant.speech.grammars import lexicon
from assistant.speech.hiss import Hiss
from assistant.speech.witness_paths import NEVER, PAUSE, WORD_COST, Chain, Floats, Loop, Stretch, best, chain, stretches

FOLDER, WEIGHTS, PHONES = "witness", "weights.npz", "phones.txt"
OF = "@"
"""In a phone's name, between the phone and the one word that has it for itself."""


def witness_of(model: Path) -> "Witness | None":
    """The witness beside the network of a model folder, if it has one."""
    return Witness(model / FOLDER) if (model / FOLDER).is_dir() else None


class Witness:
    """The network and what it knows of words."""

    def __init__(self, folder: Path) -> None:
        """Read `folder`; whoever opens the model has checked its sums."""
        with np.load(folder / WEIGHTS) as found:
            self._weights = dict(found)
        number = {name: place for place, name in enumerate(phones_of(folder / PHONES), 1)}
        self._forms = {word: numbered(word, forms, number) for word, forms in lexicon().items()}
        common = sum(OF not in name for name in number)
        special = [form for forms in self._forms.values() for form in forms if min(form) > common]
        self._loop = Loop(common, special)

    def asked(self, sound: bytes) -> "Evidence":
        """What it says of `sound`, 16-bit samples."""
        return Evidence(net.scores(Hiss().under(sound), self._weights), self._loop, self._chain)

    def _chain(self, text: str) -> Chain:
        return chain([self._forms[word] for word in text.split()])


@dataclass(frozen=True)
class Evidence:
    """Of one utterance. All log likelihoods are up to one constant."""

    _scores: Floats
    _loop: Loop
    _chain: Callable[[str], Chain]

    def likely(self, texts: Sequence[str]) -> list[float]:
        """Of each of `texts`, words of the lexicon."""
        return best(self._scores, [self._chain(text) for text in texts])

    def weakest(self, text: str) -> tuple[float, float]:
        """Of the worst word, log likelihood a frame: behind whatever else could have been said in its place, 0 =
        nothing fits better. Of the worst pause, log likelihood: ahead of speech in its place, 0 = nobody speaks in it.

        As low as can be, and 0, where the sound is too short for `text`.
        """
        words, pauses = [float(NEVER)], [0.0]
        if found := stretches(self._scores, self._chain(text)):
            words = [(self._ahead(each) - WORD_COST) / (each.end - each.begin) for each in found if each.word != PAUSE]
            pauses += [self._ahead(each) for each in found if each.word == PAUSE]
        return min(words), min(pauses)

    def _ahead(self, part: Stretch) -> float:
        """Of other speech in the same frames."""
        return part.likely - self._loop.best(self._scores[part.begin : part.end])


def own(phone: str, word: str) -> str:
    """The name of a phone as in one word: ('UH', 'hooked') -> 'UH@hooked'."""
    return f"{phone}{OF}{word}"


def numbered(word: str, forms: Sequence[Sequence[str]], number: Mapping[str, int]) -> list[tuple[int, ...]]:
    """Pronunciations of `word` by the numbers of their phones: the word's own where it has some."""
    return [tuple(number.get(own(phone, word), number[phone]) for phone in form) for form in forms]


def phones_of(table: Path) -> list[str]:
    """Names in phones.txt without place, silence and spoken noise, those of any word first: in the outputs' order."""
    lines = (line.split()[0] for line in table.read_text(encoding="utf-8").splitlines())
    names = {line[:-2] for line in lines if line.endswith("_B")} - {"SPN"}
    return sorted(names, key=lambda name: (OF in name, name))
