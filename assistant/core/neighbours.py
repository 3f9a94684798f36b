"""How even the stretch is from pull to pull along a wall."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from assistant.core import trade
from assistant.core.advice import Outcome
from assistant.core.band import percent
from assistant.core.order import Direction
from assistant.core.pull import Pull


@dataclass(frozen=True)
class Neighbours:
    """Two pulls next to each other on one wall, both with an outcome."""

    first: Pull
    second: Pull
    points: Fraction
    """By how much their stretch differs, percentage points."""

    @property
    def uneven(self) -> bool:
        """Over the setting."""
        return self.points > trade.NEIGHBOUR_JUMP.value


def in_line(pulls: Iterable[Pull], direction: Direction) -> tuple[Pull, ...]:
    """The pulls of a direction as they stand: wall after wall as they are come to, along each by position."""
    own = [each for each in pulls if each.direction is direction]
    walls = list(dict.fromkeys(each.wall_number for each in own))
    return tuple(sorted(own, key=lambda each: (walls.index(each.wall_number), each.position)))


def side_by_side(pulls: Iterable[Pull], direction: Direction) -> tuple[tuple[Pull, Pull], ...]:
    """Those of a direction that are next to each other on one wall; on every wall the positions begin anew."""
    return tuple((a, b) for a, b in pairwise(in_line(pulls, direction)) if a.wall_number == b.wall_number)


def neighbours(pulls: Sequence[tuple[Pull, Outcome | None]]) -> tuple[Neighbours, ...]:
    """Each pair, the first nearer to the start corner; one without an outcome has no neighbours."""
    outcomes = {pull.number: outcome for pull, outcome in pulls}
    found = []
    for direction in Direction:
        for one, two in side_by_side((pull for pull, _ in pulls), direction):
            first, second = outcomes[one.number], outcomes[two.number]
            if first is not None and second is not None:
                points = abs(percent(first.moved, one.stretched) - percent(second.moved, two.stretched))
                found.append(Neighbours(one, two, points))
    return tuple(found)


def jumps(pulls: Sequence[tuple[Pull, Outcome | None]]) -> tuple[Neighbours, ...]:
    """Neighbours whose stretch differs by more than the setting."""
    return tuple(each for each in neighbours(pulls) if each.uneven)
