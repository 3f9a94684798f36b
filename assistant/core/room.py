"""A room, as seen standing in the main doorway looking in: a rectangle, be it out of square, or an outline."""

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from assistant.core.caution import Caution
from assistant.core.compass import Axis, Corner, Wall
from assistant.core.floor import Floor, Opening
from assistant.core.length import Length, System
from assistant.core.outline import Outline, Point, rectangle, root
from assistant.core.square import SquareError, Squareness, squareness

__all__ = ["IF_ALIKE", "Axis", "Corner", "Room", "Wall"]

IF_ALIKE = "if facing walls are alike"
"""On what a figure rests, where a wall was not measured."""


@dataclass(frozen=True)
class Room:
    """Two sides, and what else was measured."""

    length: Length
    """Door wall to far wall, along the left wall; of an outline its extent."""
    width: Length
    """Left wall to right wall, along the door wall; of an outline its extent."""
    system: System
    """The tape it was measured with."""
    right: Length | None = None
    """The right wall, where it was measured too."""
    far: Length | None = None
    """The far wall, where it was measured too."""
    diagonal: Length | None = None
    """From the door's left corner to the far right one, where it was measured."""
    outline: Outline | None = None
    """None = a rectangle."""
    openings: tuple[Opening, ...] = ()
    islands: tuple[tuple[Point, ...], ...] = ()

    def span(self, axis: Axis) -> Length:
        """Wall to wall along `axis`, at the left or the door wall."""
        return self.length if axis is Axis.DOOR_TO_FAR else self.width

    def opposite(self, axis: Axis) -> Length:
        """The side facing the one of `span`; as long, where it was not measured."""
        measured = self.right if axis is Axis.DOOR_TO_FAR else self.far
        return self.span(axis) if measured is None else measured

    @property
    def square_diagonal(self) -> Length:
        """Corner to corner of a square room: exact where the root is rational, else short by less than 1e-9 in."""
        return Length(root(self.length.inches**2 + self.width.inches**2))

    @property
    def measured(self) -> bool:
        """Something was measured that tells whether it is square."""
        return any(each is not None for each in (self.right, self.far, self.diagonal))

    @property
    def alike(self) -> bool:
        """A diagonal places the far corners only if a wall that was not measured is as long as the one facing it."""
        return self.diagonal is not None and (self.right is None or self.far is None)

    @property
    def squareness(self) -> Squareness:
        """Against the square room of its left and door wall. Raises SquareError where its sides do not meet."""
        right, far = self.opposite(Axis.DOOR_TO_FAR), self.opposite(Axis.LEFT_TO_RIGHT)
        return squareness(self.length, self.width, right, far, self.diagonal)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What being out of square eats of the trim allowance; nothing where no more than two sides were measured."""
        try:
            found = self.squareness.cautions(self.system) if self.measured else ()
        except SquareError:
            return ()
        return tuple(replace(each, text=f"{each.text}, {IF_ALIKE}") for each in found) if self.alike else found

    @cached_property
    def floor(self) -> Floor:
        """With openings and islands; raises FloorError where they cannot be.

        A rectangle with unlike sides is the four-sided ring whose spans along both axes change evenly from side to
        side: wall 1 left, 2 far, 3 right, 4 door.
        """
        return Floor(self._ring, self.openings, self.islands)

    @property
    def _ring(self) -> Outline:
        if self.outline is not None:
            return self.outline
        if self.right is None and self.far is None:
            return rectangle(self.length, self.width)
        zero, right, far = Fraction(0), self.opposite(Axis.DOOR_TO_FAR).inches, self.opposite(Axis.LEFT_TO_RIGHT).inches
        begin, end = Point(zero, self.length.inches), Point(self.width.inches, zero)
        return Outline((Point(zero, zero), begin, Point(far, right), end))
