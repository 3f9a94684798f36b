"""How well sentences, and other speech, go with the scores of a network: best paths through chains of phones.

Every phone p has two outputs: 2 p for its first frame, 2 p + 1 for each further one; 0 is silence, which may stand
between any two words.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Variants = Sequence[tuple[int, ...]]
"""Pronunciations of one word, in phone numbers."""
NEVER = np.float32(-1e9)
PHONE_COST, WORD_COST = 1.5, 4.0
"""Of a phone and of a whole word in other speech; as in the graphs of the first network."""


@dataclass(frozen=True)
class Chain:
    """The states of one sentence; entry i of `before` lists the states that may come before state i, -1 = none."""

    phone: list[int]
    before: list[list[int]]
    first: list[int]
    """Where a path may begin."""
    last: list[int]
    """Where it may end."""


def chain(words: Sequence[Variants]) -> Chain:
    """The sentence of those words with silences that may be left out."""
    phone, before, first, last = [0], [list[int]()], [0], [0]
    for number, variants in enumerate(words):
        entry, finals = last, list[int]()
        for form in variants:
            for place, each in enumerate(form):
                before.append(entry if place == 0 else [len(phone) - 1])
                if number == 0 and place == 0:
                    first.append(len(phone))
                phone.append(each)
            finals.append(len(phone) - 1)
        phone.append(0)
        before.append(finals)
        last = [*finals, len(phone) - 1]
    return Chain(phone, before, first, last)


def best(scores: Floats, chains: Sequence[Chain]) -> list[float]:
    """The log score of the best path of each chain through [frames, outputs]; very low where there is none."""
    if not chains or not len(scores):
        return [float(NEVER)] * len(chains)
    starts = [0, *accumulate(len(each.phone) for each in chains)]
    nothing = starts[-1]
    most = max(len(ways) for each in chains for ways in each.before)
    before = np.full((nothing, most), nothing)
    for start, each in zip(starts, chains, strict=False):
        for state, ways in enumerate(each.before):
            before[start + state, : len(ways)] = [start + way for way in ways]
    phone = np.array([name for each in chains for name in each.phone])
    entering, staying = scores[:, 2 * phone], scores[:, 2 * phone + 1]
    alpha = np.full(nothing + 1, NEVER, np.float32)
    begin = [start + state for start, each in zip(starts, chains, strict=False) for state in each.first]
    alpha[begin] = entering[0, begin]
    for enter, stay in zip(entering[1:], staying[1:], strict=True):
        alpha[:-1] = np.maximum(alpha[:-1] + stay, alpha[before].max(1) + enter)
    ends = ([start + state for state in each.last] for start, each in zip(starts, chains, strict=False))
    return [float(alpha[states].max()) for states in ends]


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
