"""A span beyond the stretcher's reach, shared out by boards of strip across the room (deadmen)."""

from dataclasses import dataclass
from fractions import Fraction

from assistant.core import trade
from assistant.core.kit import Kit
from assistant.core.length import Length
from assistant.core.tube_sums import sums_of

MIDDLE = Length((trade.HEAD_FROM_WALL_LEAST.value + trade.HEAD_FROM_WALL_MOST.value) / 2)
"""The head distance counted with where none is set: the middle of the working range."""


@dataclass(frozen=True)
class Split:
    """Equal parts of a span, each stretched by itself and by as much, from the middle of the room outwards."""

    span: Length
    parts: int

    @property
    def part(self) -> Length:
        """One part, wall to board or board to board."""
        return self.span * Fraction(1, self.parts)

    @property
    def boards(self) -> tuple[Length, ...]:
        """Where the boards lie, from the wall the head pulls towards; the middle one first, then outwards."""
        places = sorted(range(1, self.parts), key=lambda place: (abs(2 * place - self.parts), place))
        return tuple(self.part * place for place in places)


def split(span: Length, kit: Kit, distance: Length = MIDDLE) -> Split | None:
    """The fewest equal parts of `span` that the kit can stretch with the head `distance` from wall or board.

    One part = the kit reaches it as it is. None = the parts get too short for the kit before it reaches them.
    Source of the way of working, from the middle and shared equally: Floor Covering Installer (trade magazine).
    """
    parts = 1
    while span * Fraction(1, parts) - distance >= kit.least:
        if sums_of(kit).fewest(span * Fraction(1, parts) - distance) is not None:
            return Split(span, parts)
        parts += 1
    return None
