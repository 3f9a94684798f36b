"""The likeliest paths of tokens through a grammar: a beam search that never leaves it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf
from typing import Protocol

from assistant.speech.second_ear_paths import Place, Tokens

LONGEST = 40
"""Tokens of a sentence; the longest of the grammars has 35 (tested)."""

Scores = Callable[[int, int], float]
"""Hypothesis, token -> log probability that the token comes next."""


class Decoder(Protocol):
    """What the search needs of a network; it keeps what it has decoded."""

    def start(self) -> Scores:
        """One hypothesis, number 0, without a token."""

    def step(self, rows: Sequence[int], tokens: Sequence[int]) -> Scores:
        """The new hypotheses: number i is the old one `rows[i]`, gone on with `tokens[i]`."""


@dataclass(frozen=True)
class Width:
    """How wide is searched; nats."""

    beam: int
    """Hypotheses followed."""
    narrow: float
    """So far one of them may lie behind the best of them."""
    behind: float = inf
    """And so far behind the best whole sentence; it can only fall."""


@dataclass(frozen=True)
class _Hypothesis:
    score: float
    tokens: Tokens
    place: Place
    row: int
    """Of the hypothesis it came from."""


def whole_sentences(
    begin: Place, decoder: Decoder, end: int, width: Width, tick: Callable[[], None] = lambda: None
) -> dict[Tokens, float]:
    """Those from `begin` on that the beam passes by, with their log probabilities (nats), the end included.

    `end`: the token that closes a sentence. `tick` is called before each step and may raise to end the search.
    """
    scores, found = decoder.start(), dict[Tokens, float]()
    alive = [_Hypothesis(0.0, (), begin, 0)]
    for _ in range(LONGEST):
        found |= _ended(alive, scores, end)
        alive = _onward(alive, scores, width, max(found.values(), default=-inf) - width.behind)
        if not alive:
            break
        tick()
        scores = decoder.step([each.row for each in alive], [each.tokens[-1] for each in alive])
    return found


def _ended(alive: list[_Hypothesis], scores: Scores, end: int) -> dict[Tokens, float]:
    return {
        each.tokens: each.score + scores(row, end) for row, each in enumerate(alive) if each.place.whole and each.tokens
    }


def _onward(alive: list[_Hypothesis], scores: Scores, width: Width, least: float) -> list[_Hypothesis]:
    """The best one token further; none less likely than `least`."""
    further = [
        _Hypothesis(each.score + scores(row, token), (*each.tokens, token), place, row)
        for row, each in enumerate(alive)
        for token, place in each.place.onward.items()
    ]
    further.sort(key=lambda each: -each.score)
    return [each for each in further[: width.beam] if each.score > max(least, further[0].score - width.narrow)]
