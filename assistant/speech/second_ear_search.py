"""The likeliest paths of tokens through grammars: beam searches that never leave theirs, side by side."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
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
    """Its number for the decoder; until that has made the step, the number of the one it came from."""


class _Search:
    """One of those that go side by side."""

    def __init__(self, begin: Place, width: Width) -> None:
        self._width = width
        self.alive = [_Hypothesis(0.0, (), begin, 0)]
        self.found = dict[Tokens, float]()

    def go_on(self, scores: Scores, end: int) -> None:
        """Keep the whole sentences, and of what goes on the best one token further."""
        self.found |= {
            each.tokens: each.score + scores(each.row, end) for each in self.alive if each.place.whole and each.tokens
        }
        further = [
            _Hypothesis(each.score + scores(each.row, token), (*each.tokens, token), place, each.row)
            for each in self.alive
            for token, place in each.place.onward.items()
        ]
        further.sort(key=lambda each: -each.score)
        best = further[0].score if further else 0.0
        least = max(best - self._width.narrow, max(self.found.values(), default=-inf) - self._width.behind)
        self.alive = [each for each in further[: self._width.beam] if each.score > least]

    def renumber(self, before: int) -> int:
        """The decoder has made its step, `before` of others first; returns the number after the last."""
        self.alive = [replace(each, row=row) for row, each in enumerate(self.alive, before)]
        return before + len(self.alive)


def whole_sentences(
    searches: Sequence[tuple[Place, Width]], decoder: Decoder, end: int, tick: Callable[[], None] = lambda: None
) -> list[dict[Tokens, float]]:
    """Of each search those from its begin on that its beam passes by, and their log probabilities (nats), end included.

    A network's step takes about as long for many hypotheses as for one: all searches share each. `end`: the token that
    closes a sentence. `tick` is called before each step and may raise to end it all.
    """
    scores, all_of_them = decoder.start(), [_Search(*each) for each in searches]
    for _ in range(LONGEST):
        for each in all_of_them:
            each.go_on(scores, end)
        alive = [one for each in all_of_them for one in each.alive]
        if not alive:
            break
        tick()
        scores = decoder.step([each.row for each in alive], [each.tokens[-1] for each in alive])
        number = 0
        for each in all_of_them:
            number = each.renumber(number)
    return [each.found for each in all_of_them]
