"""How even the stretch is from pull to pull along a wall."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from assistant.core import trade
from assistant.core.order import Direction
from assistant.record.summary import PullSummary


@dataclass(frozen=True)
class Neighbours:
    """Two pulls side by side, both with an outcome."""

    first: PullSummary
    second: PullSummary
    points: Fraction
    """By how much their stretch differs, percentage points."""

    @property
    def uneven(self) -> bool:
        """Over the setting."""
        return self.points > trade.NEIGHBOUR_JUMP.value


def in_line(pulls: Sequence[PullSummary], direction: Direction) -> tuple[PullSummary, ...]:
    """The pulls of a direction as they stand side by side, as `core.advice.jumps` takes them."""
    own = (each for each in pulls if each.pull.direction is direction)
    return tuple(sorted(own, key=lambda each: each.pull.position))


def neighbours(line: Sequence[PullSummary]) -> tuple[Neighbours, ...]:
    """Each pair in a line; one without an outcome breaks it."""
    found = []
    for one, two in pairwise(line):
        if one.percent is not None and two.percent is not None:
            found.append(Neighbours(one, two, abs(one.percent - two.percent)))
    return tuple(found)
