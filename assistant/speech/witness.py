"""A witness: a second, smaller network of our own that heard the same sound and is asked about each candidate.

It searches for nothing. The first network proposes sentences; the witness tells how well it would have heard each, and
other speech. Two networks trained apart make different mistakes: where both believe a sentence it is seldom wrong.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from assistant.speech import witness_net as net
from assistant.speech.grammars import lexicon
from assistant.speech.hiss import Hiss
from assistant.speech.witness_paths import Chain, Loop, best, chain

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
            self._weights = {name: found[name].astype(np.float32) for name in found.files}
        number = {name: place for place, name in enumerate(phones_of(folder / PHONES), 1)}
        self._forms = {word: numbered(word, forms, number) for word, forms in lexicon().items()}
        common = sum(OF not in name for name in number)
        special = [form for forms in self._forms.values() for form in forms if min(form) > common]
        self._loop = Loop(common, special)

    def asked(self, sound: bytes, texts: Sequence[str]) -> tuple[list[float], float]:
        """Log likelihoods, up to one constant: of each of `texts` (words of the lexicon), and of other speech."""
        scores = net.scores(Hiss().under(sound), self._weights)
        return best(scores, [self._chain(text) for text in texts]), self._loop.best(scores)

    def _chain(self, text: str) -> Chain:
        return chain([self._forms[word] for word in text.split()])


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
