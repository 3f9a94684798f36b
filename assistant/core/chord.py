"""From a point of a wall straight across the room: what the stretcher's tail stands against, and how far off."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from assistant.core import trade
from assistant.core.bearing import Direction
from assistant.core.edge import HEARTH, REFLEX, WALL, Edge, edges_of
from assistant.core.floor import Floor
from assistant.core.ground import Bar
from assistant.core.length import ZERO, Length
from assistant.core.outline import Point
from assistant.core.polygon import Spot
from assistant.core.view import Hit, Sweep, View

PLATE = Length(trade.TAIL_PLATE_WIDTH.value)


@dataclass(frozen=True)
class Footing:
    """What one end of the stretcher stands against."""

    kind: str
    """'wall', 'doorway', 'hearth' or 'island'; at the tail 'doorway' and 'hearth' also where its plate overlaps one."""
    wall: int
    """From 1; for an island its number."""
    at: Length
    """Along that wall from its first corner; ZERO for islands."""


@dataclass(frozen=True)
class Chord:
    """One straight pull."""

    span: Length
    head: Footing
    tail: Footing
    beyond_reflex: bool
    """The tail's plate would overhang a reflex corner."""

    @property
    def trouble(self) -> str:
        """Why the tail stands badly: 'doorway', 'hearth', 'island', 'reflex'; '' where it stands well."""
        if self.tail.kind != WALL:
            return self.tail.kind
        return REFLEX if self.beyond_reflex else ""


class ChordError(ValueError):
    """A pull that does not lead into the room."""


class Caster:
    """A floor prepared for many chords: edges as whole numbers, sorted once per direction."""

    def __init__(self, floor: Floor, plate: Length = PLATE) -> None:
        self.floor = floor
        self._edges = edges_of(floor, plate)
        self._sweeps: dict[Direction, Sweep] = {}

    def stand(self, wall: int, direction: Direction) -> "Stand":
        """The wall, its heads sent back along `direction` (length one). Raises ChordError where that leads out."""
        if direction not in self._sweeps:
            self._sweeps[direction] = Sweep(self._edges, direction, self.floor.scale)
        edge, sweep = self._edges[wall - 1], self._sweeps[direction]
        if _out(edge, sweep.way) >= 0:
            told = "does not lead into the room: it must lead away from the wall"
            raise ChordError(f"the pull from wall {wall} {told}")
        ends = [self._beside(wall, first, sweep.way) for first in (True, False)]
        return Stand(self.floor, wall, direction, View(sweep, edge), ends)

    def _beside(self, wall: int, first: bool, way: Spot) -> Footing | None:
        """The wall that stands in the way at once: at a corner, where the pull leans over the wall beside."""
        outline = self.floor.outline
        other = (wall - 2 if first else wall) % outline.walls + 1
        edge = self._edges[other - 1]
        if outline.bend(other if first else wall) > 0 and _out(edge, way) > 0:
            return Footing(WALL, other, Length(edge.end) if first else ZERO)
        return None


class Stand:
    """The places of one wall, from which heads send their tails back along one direction."""

    def __init__(
        self, floor: Floor, wall: int, direction: Direction, view: View, beside: Sequence[Footing | None]
    ) -> None:
        self._wall, self._direction, self._view, self._beside = wall, direction, view, beside
        self._scale, self._openings = floor.scale, floor.on(wall)

    def cast(self, at: Length) -> Chord:
        """From there to the first edge; from a hearth's front, if in one. Raises ChordError beyond the wall."""
        part, whole = self._place(at)
        inside = (each.kind.value for each in self._openings if each.start < at < each.end)
        head = Footing(next(inside, WALL), self._wall, at)
        if part in (0, whole) and (beside := self._beside[part == whole]):
            return Chord(ZERO, head, beside, False)
        hits, begin = self._view.hits(part, whole), Fraction(0)
        if head.kind == HEARTH:
            # The head stands at the hearth's front: the way over the hearth itself does not count.
            begin = min(self._off(hit, whole) for hit in hits if hit.seen.edge.is_front(self._wall))
            hits = [hit for hit in hits if self._off(hit, whole) > begin]
        first, along, troubles = self._view.tail(hits, part, whole)
        off = self._off(first, whole)
        span = Length(off - begin if begin else off)
        return Chord(span, head, _footing(first, along, troubles), REFLEX in troubles)

    def bars(self) -> tuple[Bar, ...]:
        """Every place of the wall whose tail would stand badly, exactly."""
        return self._view.bars()

    def ends(self, chord: Chord) -> tuple[Point, Point]:
        """Where head and tail of one of its chords stand; the head not in a hearth."""
        part, whole = self._place(chord.head.at)
        x, y = self._view.spot(part, whole)
        begin = Point(Fraction(x, whole * self._scale), Fraction(y, whole * self._scale))
        span = chord.span.inches
        return begin, Point(_gone(begin.x, self._direction[0], span), _gone(begin.y, self._direction[1], span))

    def _off(self, hit: Hit, whole: int) -> Fraction:
        """How far off the edge is (inches)."""
        reach = self._view.sweep.reach
        return Fraction(hit.far * reach.numerator, hit.seen.across * whole * reach.denominator)

    def _place(self, at: Length) -> tuple[int, int]:
        """Part and whole of the wall."""
        one, length = at.inches, self._view.wall.end
        part, whole = one.numerator * length.denominator, one.denominator * length.numerator
        if not 0 <= part <= whole:
            raise ChordError(f"{one} in lies beyond wall {self._wall}: it must lie within 0 to {length} in")
        return part, whole


def _footing(hit: Hit, along: Fraction, troubles: tuple[str, ...]) -> Footing:
    edge = hit.seen.edge
    kind = edge.kind if edge.kind != WALL or not troubles or troubles[0] == REFLEX else troubles[0]
    return Footing(kind, edge.number, Length(along))


def _out(edge: Edge, way: Spot) -> int:
    """Over 0 where the way leads out through the wall, 0 where it runs along it."""
    (ax, ay), (bx, by) = edge.side
    return way[0] * (ay - by) + way[1] * (bx - ax)


def _gone(begin: Fraction, part: Fraction, span: Fraction) -> Fraction:
    return begin + part * span if part else begin
