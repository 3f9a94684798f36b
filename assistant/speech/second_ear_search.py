"""The likeliest path of tokens through a grammar: a beam search that never leaves it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, log
from typing import Protocol

from assistant.speech.second_ear_paths import Place, Tokens

BEAM, NARROW = 5, 10.0
"""Hypotheses followed, and how far (nats) one may lie behind the best."""
LONGEST = 40
"""Tokens of a sentence; the longest of the grammars has 35 (tested)."""
TINY = 1e-300
"""Stands for a probability of nothing."""

Scores = Callable[[int, int], float]
"""Hypothesis, token -> log probability that the token comes next."""


class Decoder(Protocol):
    """What the search needs of a network; it keeps what it has decoded."""

    def start(self) -> Scores:
        """One hypothesis, number 0, without a token."""

    def step(self, rows: Sequence[int], tokens: Sequence[int]) -> Scores:
        """The new hypotheses: number i is the old one `rows[i]`, gone on with `tokens[i]`."""


@dataclass(frozen=True)
class Found:
    """A whole sentence."""

    score: float
    """Log probability, its end included; nats."""
    tokens: Tokens


@dataclass(frozen=True)
class _Hypothesis:
    score: float
    tokens: Tokens
    place: Place
    row: int
    """Of the hypothesis it came from."""


def best(begin: Place, decoder: Decoder, ends: Sequence[int], tick: Callable[[], None] = lambda: None) -> Found | None:
    """The likeliest sentence from `begin` on; None where the beam reached no end.

    `ends`: tokens that may close a sentence; which of them does is all the same. `tick` is called before each step and
    may raise to end the search.
    """
    scores, found = decoder.start(), Found(-float("inf"), ())
    alive = [_Hypothesis(0.0, (), begin, 0)]
    for _ in range(LONGEST):
        found = max([found, *_ended(alive, scores, ends)], key=lambda each: each.score)
        alive = _onward(alive, scores, found.score)
        if not alive:
            break
        tick()
        scores = decoder.step([each.row for each in alive], [each.tokens[-1] for each in alive])
    return found if found.tokens else None


def _ended(alive: list[_Hypothesis], scores: Scores, ends: Sequence[int]) -> list[Found]:
    return [
        Found(each.score + log(sum(exp(scores(row, end)) for end in ends) or TINY), each.tokens)
        for row, each in enumerate(alive)
        if each.place.whole and each.tokens
    ]


def _onward(alive: list[_Hypothesis], scores: Scores, least: float) -> list[_Hypothesis]:
    """The best one token further; none that is already less likely than a whole sentence with `least`."""
    further = [
        _Hypothesis(each.score + scores(row, token), (*each.tokens, token), place, row)
        for row, each in enumerate(alive)
        for token, place in each.place.onward.items()
    ]
    further.sort(key=lambda each: -each.score)
    return [each for each in further[:BEAM] if each.score > max(least, further[0].score - NARROW)]
