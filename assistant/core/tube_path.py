"""The cheapest way through a pass: one build per need, least changes in all, then the lever nearest half-way.

Dynamic programming over needs. A build is one whole number, its code: each tube taken is a pair of set bits, the hole
another bit, so that half the bits in which two codes differ is the number of changes between them. What keeps the work
small is branch and bound: a lower bound of what is still to come looks at the sum of the tubes only, not at which they
are; builds that cannot lead to a cheaper way than one already known are left aside.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

BEAM = 32
"""Builds kept per need while looking for a first good way."""

Choices = Mapping[int, Sequence[int]]
"""By sum of the tubes: the codes, without hole, of the choices that have it."""


@dataclass(frozen=True)
class Stage:
    """One need, served by so many tubes."""

    need: int
    pulls: int
    """How many pulls in a row have this need."""
    pieces: int
    stands: tuple[tuple[int, int], ...]
    """Sum of the tubes and hole, from 0, of all that serve the need."""
    choices: Choices


_Found = dict[int, tuple[int, int]]
"""By code: the cost of the cheapest way to it, and the code at the stage before on that way."""


class Way:
    """Finds the way through `stages`.

    `window` is how far a build may be from its need with the lever half-way; `bases` what the stretcher measures
    without tubes, by hole. Every stage must have a build that serves it.
    """

    def __init__(self, stages: Sequence[Stage], window: int, bases: Sequence[int]) -> None:
        self.stages, self.bases = stages, bases
        # One change outweighs every lever of the pass; even, because a change is two bits.
        self.change = 2 * (1 + window * sum(each.pulls for each in stages))

    def codes(self) -> list[int]:
        """One code per stage, the same ones every time."""
        least = min(away + ahead for _, _, away, ahead in self._stands[0])
        slack, known = 0, self._forward(least, BEAM)
        while not known[-1]:
            slack = 4 * slack or self.change
            known = self._forward(least + slack, BEAM)
        cost = min(cost for cost, _ in known[-1].values())
        better = self._forward(cost - 1, None) if cost > least else []
        return _back(better if better and better[-1] else known)

    def _forward(self, bound: int, beam: int | None) -> list[_Found]:
        """By stage: the ways to each build that may cost at most `bound` to the end; at most `beam` ways at a time."""
        reached: list[_Found] = []
        for place, stage in enumerate(self.stages):
            more = abs(stage.pieces - self.stages[place - 1].pieces)
            arrival = _Arrival(reached[-1] if place else None, more, self.change, len(self.bases))
            ranked = []
            for total, hole, away, ahead in self._stands[place]:
                limit = bound - away - ahead
                if limit < arrival.cheapest:
                    continue
                for tubes in arrival.worth_trying(stage.choices[total], limit):
                    code = tubes | 1 << hole
                    cost, before = arrival.step(code, limit)
                    if cost <= limit:
                        ranked.append((cost + away + ahead, code, cost + away, before))
            if not ranked:
                return [{}]
            ranked.sort()
            reached.append({code: (cost, before) for _, code, cost, before in ranked[:beam]})
        return reached

    @cached_property
    def _stands(self) -> list[list[tuple[int, int, int, int]]]:
        """By stage, each sum and hole that serves it: those two, the cost of the lever, and what comes later at least.

        What comes later is the least cost of all later stages, were every choice with a sum at hand.
        """
        found: list[list[tuple[int, int, int, int]]] = []
        later: _Later | None = None
        for place in reversed(range(len(self.stages))):
            stage, bases = self.stages[place], self.bases
            away = [(total, hole, abs(stage.need - bases[hole] - total) * stage.pulls) for total, hole in stage.stands]
            least = [0] * len(away) if later is None else later.least(away, stage.pieces)
            found.append([(*each, ahead) for each, ahead in zip(away, least, strict=True)])
            later = _Later(found[-1], stage.pieces, self.change)
        return found[::-1]


class _Later:
    """The least cost of the stages from one on, by where one stands on it."""

    def __init__(self, stands: Sequence[tuple[int, int, int, int]], pieces: int, change: int) -> None:
        self.pieces, self.change = pieces, change
        self.at = {(total, hole): away + ahead for total, hole, away, ahead in stands}
        self.with_sum: dict[int, int] = {}
        for (total, _), cost in self.at.items():
            if cost < self.with_sum.get(total, cost + 1):
                self.with_sum[total] = cost
        self.anywhere = min(self.with_sum.values())

    def least(self, before: Sequence[tuple[int, int, int]], pieces: int) -> list[int]:
        """Coming from each build of the stage before, which has so many `pieces`."""
        if pieces != self.pieces:
            return [self.anywhere + abs(pieces - self.pieces) * self.change] * len(before)
        # Other tubes: one off, one on. The same ones: the hole, or nothing.
        other, found = self.anywhere + 2 * self.change, []
        for total, hole, _ in before:
            moved = min(self.with_sum.get(total, other) + self.change, other)
            found.append(min(self.at.get((total, hole), moved), moved))
        return found


class _Arrival:
    """Ways on from the builds of the stage before; `more` is how many tubes more or fewer the next stage has."""

    def __init__(self, before: _Found | None, more: int, change: int, holes: int) -> None:
        self.first, self.half, self.floor, self.holes = before is None, change // 2, change * (more or 2), holes
        self.order = sorted((cost, code) for code, (cost, _) in (before or {}).items())
        self.cheapest = self.order[0][0] if self.order else 0
        self.same: dict[int, list[tuple[int, int]]] = {}
        for cost, code in self.order:
            self.same.setdefault(code >> holes << holes, []).append((cost, code))

    def worth_trying(self, choices: Sequence[int], limit: int) -> Sequence[int]:
        """Those of `choices` that can be arrived at within `limit`: perhaps all, perhaps only those that stay."""
        if self.first or self.cheapest + self.floor <= limit:
            return choices
        return [each for each in choices if each in self.same]

    def step(self, code: int, limit: int) -> tuple[int, int]:
        """Cost of the cheapest arrival at `code` and where from; a cost over `limit` where it would be more."""
        if self.first:
            return 0, 0
        least, source = limit + 1, 0
        for cost, other in self.same.get(code >> self.holes << self.holes, ()):
            cost += (other ^ code).bit_count() * self.half
            if cost < least:
                least, source = cost, other
        # Other tubes take so many changes at least; cheap sources come first, so the search can stop early.
        for cost, other in self.order:
            if cost + self.floor >= least:
                break
            cost += (other ^ code).bit_count() * self.half
            if cost < least:
                least, source = cost, other
        return least, source


def _back(reached: list[_Found]) -> list[int]:
    last = reached[-1]
    code = min(last, key=lambda each: (last[each][0], each))
    found = [code]
    for ways in reversed(reached[1:]):
        code = ways[code][1]
        found.append(code)
    return found[::-1]
