"""A pull: one placing of the head, and the pass that makes it."""

from dataclasses import dataclass
from fractions import Fraction

from assistant.core.band import Band
from assistant.core.compass import Axis, Wall
from assistant.core.deadman import Split
from assistant.core.kit import Build, Shortage
from assistant.core.length import Length
from assistant.core.order import Direction, PassRule
from assistant.core.outline import Point


@dataclass(frozen=True)
class Pull:
    """One placing of the head."""

    number: int
    """From 1, through the whole job."""
    direction: Direction
    axis: Axis
    wall: Wall
    """The side of the room the head pulls towards."""
    wall_number: int
    """The wall, counted clockwise from the one left of the door."""
    position: Length
    """Head centre along that wall, from its end nearer the start corner, exact."""
    called_position: Length
    """The position as called out: to the half inch, or to the centimetre."""
    span: Length
    """Head wall to tail, along the pull."""
    band: Band | None
    """Of what is `stretched`; None where nobody gave a figure: no verdict."""
    head_at: Point
    tail_at: Point
    """Where head and tail stand in the room (see outline.py), for drawings."""
    angle: Fraction = Fraction(0)
    """Degrees the pull leans into the corner; 0 = square to the room."""
    flag: str = ""
    """What is wrong with the place of the tail: 'doorway', 'hearth', 'island', 'reflex'; '' = nothing."""
    build: Build | Shortage | None = None
    """Tubes for this pull; None where no kit is set."""

    @property
    def parts(self) -> int:
        """Equal parts that are stretched each by itself, between deadmen; 1 = the whole span at a time."""
        return parts_of(self.build)

    @property
    def stretched(self) -> Length:
        """What is stretched at a time, the span or one of its parts: band, readings and per cent are of this."""
        return stretched(self.span, self.build)


def parts_of(build: Build | Shortage | None) -> int:
    """Equal parts that a span with this build is worked in."""
    return max(1, build.parts) if isinstance(build, Shortage) else 1


def stretched(span: Length, build: Build | Shortage | None) -> Length:
    """Of a span with this build, what is stretched at a time."""
    parts = parts_of(build)
    return span if parts == 1 else Split(span, parts).part


@dataclass(frozen=True)
class Pass:
    """One direction's set of pulls."""

    number: int
    """From 1."""
    rule: PassRule
    pulls: tuple[Pull, ...]
