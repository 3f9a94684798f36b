"""Is a four-walled room square? Its far corners, as both sides and a diagonal place them."""

from dataclasses import dataclass
from fractions import Fraction

from assistant.core import trade
from assistant.core.caution import Caution
from assistant.core.compass import Axis
from assistant.core.length import ZERO, Length, System, tape
from assistant.core.outline import Point, root

_ALLOWED = Length(trade.TRIM_ALLOWANCE_LEAST.value)
_NAMES = {Axis.DOOR_TO_FAR: "length", Axis.LEFT_TO_RIGHT: "width"}


class SquareError(ValueError):
    """Sides and a diagonal that make no room together: says so in one line."""


@dataclass(frozen=True)
class Squareness:
    """A room beside the square one that its left and door wall would make."""

    length: Length
    """Of the left wall."""
    width: Length
    """Of the door wall."""
    far_left: Point
    far_right: Point

    @property
    def off(self) -> Length:
        """How far the worse of the far corners stands from its place; exact where the root is rational."""
        zero, x, y = Fraction(0), self.width.inches, self.length.inches
        pairs = ((self.far_left, Point(zero, y)), (self.far_right, Point(x, y)))
        return Length(max(root((is_.x - due.x) ** 2 + (is_.y - due.y) ** 2) for is_, due in pairs))

    def eaten(self, axis: Axis) -> Length:
        """What a carpet cut to the left and the door wall lacks along `axis`: taken out of the trim allowance."""
        zero, corners = Fraction(0), (self.far_left, self.far_right)
        if axis is Axis.DOOR_TO_FAR:
            return max(Length(max(each.y for each in corners)) - self.length, ZERO)
        places = [zero, self.width.inches, *(each.x for each in corners)]
        return Length(max(places) - min(places)) - self.width

    def told(self, axis: Axis, system: System) -> Length:
        """What is eaten along `axis`, to the next mark of the tape; nothing where it is less than a mark."""
        eaten, step = self.eaten(axis), system.graduation
        return ZERO if eaten < step else eaten.up_to(step)

    def cautions(self, system: System) -> tuple[Caution, ...]:
        """One for each axis along which trim allowance is eaten, by a mark of the tape or more."""
        return tuple(
            Caution("square", _told(axis, eaten, system), trade.TRIM_ALLOWANCE_LEAST.source)
            for axis in Axis
            if (eaten := self.told(axis, system)) > ZERO
        )


def _told(axis: Axis, eaten: Length, system: System) -> str:
    allowed, name = tape(_ALLOWED, system), _NAMES[axis]
    left = "it is not enough" if eaten >= _ALLOWED else f"{tape(_ALLOWED - eaten, system)} is left"
    return f"out of square along the {name}: eats {tape(eaten, system)} of the {allowed} trim allowance; {left}"


def squareness(length: Length, width: Length, right: Length, far: Length, diagonal: Length | None) -> Squareness:
    """From the left, door, right and far wall and the diagonal from the door's left corner to the far right one.

    The left end of the door wall stands at 0, 0 and the door wall along x. Without a diagonal nothing tells how far the
    room leans: the left wall is taken as square to the door wall, the right one as far off as the far wall is long.
    Raises SquareError where no such room can be.
    """
    zero = Fraction(0)
    if diagonal is None:
        return Squareness(length, width, Point(zero, length.inches), Point(far.inches, right.inches))
    left, door, across = length.inches, width.inches, diagonal.inches
    x = (across**2 + door**2 - right.inches**2) / (2 * door)
    y = _height(across, x)
    along = (left**2 - far.inches**2 + across**2) / (2 * across)
    aside = _height(left, along)
    far_left = Point((along * x - aside * y) / across, (along * y + aside * x) / across)
    return Squareness(length, width, far_left, Point(x, y))


def _height(side: Fraction, foot: Fraction) -> Fraction:
    left = side**2 - foot**2
    if left <= 0:
        raise SquareError("these sides and this diagonal do not meet; the diagonal is shorter than two sides together")
    return root(left)
