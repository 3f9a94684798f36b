"""How well sentences, and other speech, go with the scores of a network: best paths through chains of phones.

Every phone p has two outputs: 2 p for its first frame, 2 p + 1 for each further one; 0 is silence, which may stand
between any two words.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Variants = Sequence[tuple[int, ...]]
"""Pronunciations of one word, in phone numbers."""
NEVER = np.float32(-1e9)
PHONE_COST, WORD_COST = 1.5, 4.0
"""Of a phone and of a whole word in other speech; as in the graphs of the first network."""
PAUSE = -1
"""The place of silence among the words: none."""


@dataclass(frozen=True)
class Chain:
    """The states of one sentence; entry i of `before` lists the states that may come before state i."""

    phone: list[int]
    word: list[int]
    """The place of its word in the sentence, or PAUSE."""
    before: list[list[int]]
    first: list[int]
    """Where a path may begin."""
    last: list[int]
    """Where it may end."""


@dataclass(frozen=True)
class Stretch:
    """What the best path of a sentence makes of some frames in a row: one word, or one pause."""

    word: int
    """Its place in the sentence, or PAUSE."""
    begin: int
    end: int
    """The frame after its last."""
    likely: float
    """Log score."""


def chain(words: Sequence[Variants]) -> Chain:
    """The sentence of those words with silences that may be left out."""
    phone, word, before, first, last = [0], [PAUSE], [list[int]()], [0], [0]
    for number, variants in enumerate(words):
        entry, finals = last, list[int]()
        for form in variants:
            for place, each in enumerate(form):
                before.append(entry if place == 0 else [len(phone) - 1])
                if number == 0 and place == 0:
                    first.append(len(phone))
                phone.append(each)
                word.append(number)
            finals.append(len(phone) - 1)
        phone.append(0)
        word.append(PAUSE)
        before.append(finals)
        last = [*finals, len(phone) - 1]
    return Chain(phone, word, before, first, last)


def best(scores: Floats, chains: Sequence[Chain]) -> list[float]:
    """The log score of the best path of each chain through [frames, outputs]; very low where there is none."""
    if not chains or not len(scores):
        return [float(NEVER)] * len(chains)
    starts = [0, *accumulate(len(each.phone) for each in chains)]
    phone = np.array([name for each in chains for name in each.phone])
    ways = [[start + way for way in each] for start, one in zip(starts, chains, strict=False) for each in one.before]
    first = [start + state for start, each in zip(starts, chains, strict=False) for state in each.first]
    alpha, _ = _walked(scores[:, 2 * phone], scores[:, 2 * phone + 1], ways, first)
    ends = ([start + state for state in each.last] for start, each in zip(starts, chains, strict=False))
    return [float(alpha[states].max()) for states in ends]


def stretches(scores: Floats, sentence: Chain) -> list[Stretch]:
    """The best path of the sentence through [frames, outputs], word by word; [] where there is none."""
    if not len(scores):
        return []
    phone = np.array(sentence.phone)
    entering, staying = scores[:, 2 * phone], scores[:, 2 * phone + 1]
    alpha, came = _walked(entering, staying, sentence.before, sentence.first)
    end = max(sentence.last, key=alpha.__getitem__)
    if alpha[end] < NEVER / 2:
        return []
    path = list(accumulate(reversed(came), lambda state, way: int(way[state]), initial=end))[::-1]
    begun = [frame == 0 or path[frame - 1] != state for frame, state in enumerate(path)]
    likely = np.where(begun, entering[range(len(path)), path], staying[range(len(path)), path])
    words = groupby(range(len(path)), lambda frame: sentence.word[path[frame]])
    return [_stretch(word, list(frames), likely) for word, frames in words]


def _stretch(word: int, frames: list[int], likely: Floats) -> Stretch:
    return Stretch(word, frames[0], frames[-1] + 1, float(likely[frames].sum()))


def _walked(
    entering: Floats, staying: Floats, ways: Sequence[Sequence[int]], first: Sequence[int]
) -> tuple[Floats, list[NDArray[np.int64]]]:
    """Of each state, after [frames, states]: the score of the best path into it, and for every frame but the first the
    state it came from. `ways`: the states that may come before each.
    """
    states = np.arange(len(ways))
    before = np.full((len(ways), max(map(len, ways))), len(ways))  # where a state has fewer, one never reached
    for state, each in enumerate(ways):
        before[state, : len(each)] = each
    alpha = np.full(len(ways) + 1, NEVER, np.float32)
    alpha[first] = entering[0, first]
    came: list[NDArray[np.int64]] = []
    for enter, stay in zip(entering[1:], staying[1:], strict=True):
        way = before[states, alpha[before].argmax(1)]
        moved, stayed = alpha[way] + enter, alpha[:-1] + stay
        came.append(np.where(moved > stayed, way, states))
        alpha[:-1] = np.maximum(moved, stayed)
    return alpha[:-1], came


class Loop:
    """Other speech: any phones in any order, words of the grammars among them."""

    def __init__(self, phones: int, words: Sequence[tuple[int, ...]]) -> None:
        """`phones`: those of any word are numbered from 1 to `phones`; `words`: chains with phones of their own."""
        chains = [(0,), *((each,) for each in range(1, phones + 1)), *words]
        self._phone = np.array([phone for form in chains for phone in form])
        ends = list(accumulate(len(form) for form in chains))
        self._ends = np.array(ends) - 1
        self._entries = np.array([0, *ends[:-1]])
        self._costs = np.array([0.0, *[PHONE_COST] * phones, *[WORD_COST] * len(words)], np.float32)

    def best(self, scores: Floats) -> float:
        """The log score of the best path through [frames, outputs], the costs taken off."""
        if not len(scores):
            return 0.0
        entering, staying = scores[:, 2 * self._phone], scores[:, 2 * self._phone + 1]
        alpha = np.full(len(self._phone), NEVER, np.float32)
        alpha[self._entries] = entering[0, self._entries] - self._costs
        for enter, stay in zip(entering[1:], staying[1:], strict=True):
            come = np.concatenate([[NEVER], alpha[:-1]]).astype(np.float32)
            come[self._entries] = alpha[self._ends].max() - self._costs
            alpha = np.maximum(alpha + stay, come + enter)
        return float(alpha[self._ends].max())
