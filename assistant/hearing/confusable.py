"""Which sentences of one ask sound too much alike, and which are cut-off sentences in their own right.

Sentences are drawn by the grammar's sampler; from each, every change of one word, of two words for one or of one for
two, and every word left out, is tried that stays within reach of the ear. A change counts where the grammar accepts
it and the meaning is another one.
"""

import itertools
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from assistant.core.meaning import Meaning
from assistant.hearing.phones import distance, gap
from assistant.hearing.words import NOTHING, number_words
from assistant.speech.grammars import grammar, lexicon
from assistant.speech.jsgf import Grammar
from assistant.speech.sampler import count, sample, sentences
from assistant.speech.understand import understand

LEAST = 1.5
"""Phrases of one ask must be at least so far apart, or stand in allowed.toml with the reason."""
SAMPLED = 400
"""Sentences drawn for each ask; smaller grammars are gone through whole."""
_ONE_UNIT = {"inches": "inch", "feet": "foot", **{f"{each}s": each for each in ("metre", "centimetre", "millimetre")}}
_FRACTIONS = frozenset("half quarter quarters eighth eighths sixteenth sixteenths".split())


@dataclass(frozen=True)
class Clash:
    """Two sentences of an ask that sound alike and mean different things."""

    ask: str
    said: str
    """The words of the first that differ."""
    heard: str
    """Their counterpart in the second; NOTHING for none."""
    apart: float
    """Phone distance."""
    example: str
    """The first sentence whole."""

    @property
    def pair(self) -> tuple[str, str]:
        """The two wordings in order of the alphabet."""
        first, second = sorted((self.said, self.heard))
        return first, second


@dataclass(frozen=True)
class Stump:
    """A sentence whose beginning is a sentence, too, with another value."""

    ask: str
    shape: str
    """Last word of the beginning + first of the rest; N a number, F a fraction, units in the singular."""
    example: str
    """Beginning, bar, rest."""


@cache
def apart(one: str, other: str) -> float:
    """Phone distance of two wordings, '' or NOTHING being no sound; the nearest pronunciations count."""
    return min(distance(a, b) for a in _sounds(one) for b in _sounds(other))


@cache
def _sounds(words: str) -> tuple[tuple[str, ...], ...]:
    forms = lexicon()
    choices = [forms[each] for each in words.split() if each != NOTHING]
    return tuple(tuple(itertools.chain(*each)) for each in itertools.product(*choices))


def drawn(ask: str, size: int = SAMPLED) -> list[str]:
    """The sentences of `ask` that are looked at: all, or `size` drawn."""
    source = grammar(ask)
    if count(source) <= size:
        return sorted({*sentences(source)})
    dice = Random(ask)
    return sorted({sample(source, dice) for _ in range(size)})


def clashes(ask: str, texts: Sequence[str], least: float = LEAST) -> list[Clash]:
    """Pairs nearer than `least`, the nearest first, one for each pair of wordings."""
    source, found = grammar(ask), dict[tuple[str, str], Clash]()
    for text in texts:
        means = understand(text, source)
        for said, heard, changed in _changes(text, source, least):
            clash = Clash(ask, said, heard, apart(said, heard), text)
            if clash.pair not in found and _differs(means, understand(changed, source)):
                found[clash.pair] = clash
    return sorted(found.values(), key=lambda each: (each.apart, each.pair))


def _differs(one: Meaning | None, other: Meaning | None) -> bool:
    return other is not None and one != other


def _changes(text: str, source: Grammar, least: float) -> Iterator[tuple[str, str, str]]:
    """(words, words in their place, whole changed sentence)."""
    words = text.split()
    for size in (1, 2):
        for at in range(len(words) - size + 1):
            said = " ".join(words[at : at + size])
            for heard in _near(said, source, least):
                middle = [] if heard == NOTHING else heard.split()
                yield said, heard, " ".join([*words[:at], *middle, *words[at + size :]])


_near_known: dict[tuple[str, str, float], tuple[str, ...]] = {}


def _near(said: str, source: Grammar, least: float) -> tuple[str, ...]:
    """Wordings within reach of `said`: one word, two for one, none."""
    key = (said, source.name, least)
    if key not in _near_known:
        one = sorted(source.vocabulary)
        two = [] if said.count(" ") else [f"{a} {b}" for a in one for b in one]
        choices = [NOTHING, *one, *two]
        long = _length(said)
        _near_known[key] = tuple(
            each for each in choices if each != said and abs(_length(each) - long) < least and apart(said, each) < least
        )
    return _near_known[key]


@cache
def _length(words: str) -> float:
    """A lower bound for what it costs to leave `words` out."""
    return min(sum(gap(phone) for phone in each) for each in _sounds(words))


def stumps(ask: str, texts: Sequence[str]) -> list[Stump]:
    """Beginnings that are sentences with other figures, one for each shape."""
    source, found = grammar(ask), dict[str, Stump]()
    for text in texts:
        words, whole = text.split(), understand(text, source)
        assert whole is not None
        for at in range(1, len(words)):
            cut = understand(" ".join(words[:at]), source)
            if cut is not None and (cut.quantities, cut.digits) != (whole.quantities, whole.digits):
                shape = f"{_sign(words[at - 1])} + {_sign(words[at])}"
                example = f"{' '.join(words[:at])} | {' '.join(words[at:])}"
                found.setdefault(shape, Stump(ask, shape, example))
    return sorted(found.values(), key=lambda each: each.shape)


def _sign(word: str) -> str:
    if word in _FRACTIONS:
        return "F"
    return "N" if word in number_words() else _ONE_UNIT.get(word, word)


@cache
def _allowed() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("allowed.toml").read_text(encoding="utf-8"))


def excuse_clash(clash: Clash) -> str:
    """Why allowed.toml lets the pair stand, '' where it does not."""
    return next((why for one, other, why in _allowed()["clash"] if {one, other} == {*clash.pair}), "")


def excuse_stump(stump: Stump) -> str:
    """Why allowed.toml lets the beginning stand, '' where it does not."""
    rows = _allowed()["stump"]
    return next((why for asks, shapes, why in rows if stump.ask in asks and stump.shape in shapes), "")
