"""A room's outline: its corners, walked clockwise with the walls on the left hand, from the door side's left end."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import isqrt, lcm

from assistant.core import polygon
from assistant.core.compass import Axis, Wall
from assistant.core.length import Length, System, tape
from assistant.core.polygon import Spot

_ROOT_SCALE = 10**9
_SAYS = {
    "too_few_walls": "the outline has {walls} walls; a room has three or more",
    "zero_wall": "wall {wall} has no length; it must be longer than nothing: measure it again or leave it out",
    "spike": "after wall {wall} the walk doubles back on it; a turn must be less than 180 degrees: give it again",
    "crosses_itself": "wall {wall} crosses wall {other}; walls may only meet at their ends: "
    "check the lengths and turns between them",
    "touches_itself": "wall {wall} touches wall {other}; walls may only meet at their ends: "
    "check the lengths and turns between them",
    "walked_backwards": "the walls run anticlockwise; walk with the walls on your left hand: swap right and left turns",
    "turns_do_not_close": "the turns add up to {total} degrees to the right, {off} too {way}; they must add up to 360: "
    "check every turn",
    "turn_flipped": "the turns add up to {total} degrees to the right and must add up to 360; "
    "the turn after wall {wall} the other way would mend it",
    "turns_swapped": "the walls do not close by {distance}; they would with the turns after wall {wall} "
    "and wall {other} each the other way",
    "does_not_close": "the walls do not close by {distance}, at most {tolerance} is allowed; "
    "check wall {wall}: {right} would be right",
    "does_not_close_anywhere": "the walls do not close by {distance}, at most {tolerance} is allowed; "
    "no one length mends it: measure again, wall {wall} first",
}


class OutlineError(ValueError):
    """Walls that make no room: says what is wrong and what would be right, in one line."""

    def __init__(self, why: str, wall: int | None = None, **told: object) -> None:
        self.why = why
        """A key of the messages, such as 'zero_wall'."""
        self.wall = wall
        """Counted from 1."""
        self._told = told
        super().__init__(self.on_tape(System.IMPERIAL))

    def on_tape(self, system: System) -> str:
        """The line with its lengths as on that tape."""
        return _SAYS[self.why].format(wall=self.wall, **on_tape(self._told, system))


def on_tape(told: Mapping[str, object], system: System) -> dict[str, object]:
    """What a message is told, its lengths as on that tape."""
    return {name: tape(each, system) if isinstance(each, Length) else each for name, each in told.items()}


@dataclass(frozen=True)
class Leg:
    """One wall of the walk."""

    length: Length
    turn: Fraction
    """Degrees to the right at the wall's end; under 0 to the left."""


@dataclass(frozen=True)
class Point:
    """A place on the floor, inches: x to the right, y away from the door, as seen from the main doorway."""

    x: Fraction
    y: Fraction


@dataclass(frozen=True)
class Outline:
    """A closed, clockwise, simple ring of walls; checks itself (OutlineError)."""

    corners: tuple[Point, ...]
    """Corner i (from 0) is where wall i + 1 begins."""

    def __post_init__(self) -> None:
        ring = self.ring
        if len(ring) < 3:
            raise OutlineError("too_few_walls", walls=len(ring))
        for wall, (a, b) in enumerate(polygon.sides(ring), 1):
            if a == b:
                raise OutlineError("zero_wall", wall)
        for side in polygon.spikes(ring):
            raise OutlineError("spike", side + 1)
        if met := polygon.self_meeting(ring):
            why = "crosses_itself" if met[2] == "crosses" else "touches_itself"
            raise OutlineError(why, met[1] + 1, other=met[0] + 1)
        if polygon.doubled_area(ring) < 0:
            raise OutlineError("walked_backwards")

    @cached_property
    def scale(self) -> int:
        """Whole units to the inch in which every corner is a whole number."""
        return lcm(*(each.denominator for point in self.corners for each in (point.x, point.y)))

    @cached_property
    def ring(self) -> tuple[Spot, ...]:
        """The corners in units of `scale`."""
        return tuple((int(point.x * self.scale), int(point.y * self.scale)) for point in self.corners)

    @property
    def walls(self) -> int:
        """How many."""
        return len(self.corners)

    def ends(self, wall: int) -> tuple[Point, Point]:
        """First and last corner of a wall (from 1)."""
        return self.corners[wall - 1], self.corners[wall % self.walls]

    def length_of(self, wall: int) -> Length:
        """Exact along an axis and wherever the root is rational; else rounded down, by less than 1e-9 in."""
        return self._lengths[wall - 1]

    @cached_property
    def _lengths(self) -> tuple[Length, ...]:
        steps = ((b[0] - a[0], b[1] - a[1]) for a, b in polygon.sides(self.ring))
        return tuple(
            Length(root(Fraction(x * x + y * y, self.scale**2)) if x and y else Fraction(abs(x + y), self.scale))
            for x, y in steps
        )

    def facing(self, wall: int) -> Wall:
        """Which of the four walls it belongs to: the axis nearest to its outward direction; halfway, far or door."""
        a, b = self.ring[wall - 1], self.ring[wall % self.walls]
        x, y = a[1] - b[1], b[0] - a[0]
        if abs(y) >= abs(x):
            return Wall.FAR if y > 0 else Wall.DOOR
        return Wall.RIGHT if x > 0 else Wall.LEFT

    def bend(self, wall: int) -> int:
        """At the wall's end: 1 where the walk turns right, -1 left (a reflex corner), 0 straight on."""
        a, b = self.ring[wall - 1], self.ring[wall % self.walls]
        left = polygon.cross(a, b, self.ring[(wall + 1) % self.walls])
        return (left < 0) - (left > 0)

    def extent(self, axis: Axis) -> Length:
        """From the nearest to the farthest corner along `axis`."""
        places = [point.y if axis is Axis.DOOR_TO_FAR else point.x for point in self.corners]
        return Length(max(places) - min(places))


def root(square: Fraction) -> Fraction:
    """The square root: exact where it is rational, else rounded down by less than 1e-9."""
    exact = Fraction(isqrt(square.numerator), isqrt(square.denominator))
    if exact**2 == square:
        return exact
    return Fraction(isqrt(square.numerator * _ROOT_SCALE**2 // square.denominator), _ROOT_SCALE)


def rectangle(length: Length, width: Length) -> Outline:
    """A plain room: wall 1 left, 2 far, 3 right, 4 door."""
    x, y, zero = width.inches, length.inches, Fraction(0)
    return Outline((Point(zero, zero), Point(zero, y), Point(x, y), Point(x, zero)))
