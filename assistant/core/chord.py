"""From a point of a wall straight across the room: what the stretcher's tail stands against, and how far off."""

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from assistant.core import polygon
from assistant.core.bearing import Direction
from assistant.core.compass import Axis
from assistant.core.floor import Floor, OpeningKind
from assistant.core.length import ZERO, Length
from assistant.core.outline import Outline
from assistant.core.polygon import Side, Spot

WALL, DOORWAY, HEARTH, ISLAND = "wall", "doorway", "hearth", "island"


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


class ChordError(ValueError):
    """A pull that does not lead into the room."""


@dataclass(frozen=True)
class _Edge:
    side: Side
    kind: str
    number: int
    start: Fraction
    """Where along its wall the side begins and ends (inches)."""
    end: Fraction


@dataclass(frozen=True)
class _Sweep:
    """All edges as seen along one direction: sorted by where they begin aside of it."""

    way: Spot
    """The direction, in whole numbers."""
    reach: Fraction
    """Inches in one length of `way`."""
    lows: tuple[int, ...]
    edges: tuple[tuple[int, int, _Edge], ...]
    """Least and most aside, and the edge; edges along the direction are left out: they are grazed, not met."""


_Hit = tuple[int, int, _Edge, int]
"""Over how many parts, of how many to a length of the way, an edge is met; the edge, and its own part there."""


class Caster:
    """A floor prepared for many chords: corners as whole numbers, edges sorted once per direction."""

    def __init__(self, floor: Floor) -> None:
        self.floor, outline = floor, floor.outline
        sides = polygon.sides(floor.ring(outline.corners))
        lengths = [outline.length_of(wall).inches for wall in range(1, outline.walls + 1)]
        self._walls = [_Edge(side, WALL, at, Fraction(0), lengths[at - 1]) for at, side in enumerate(sides, 1)]
        self._edges = list(self._walls)
        for hearth in floor.hearths:
            start, end = hearth.start.inches, hearth.end.inches
            along = ((end, end), (end, start), (start, start))
            fronts = zip(polygon.sides(floor.ring(floor.front(hearth)))[1:], along, strict=True)
            self._edges += [_Edge(side, HEARTH, hearth.wall, *ends) for side, ends in fronts]
        for number, island in enumerate(floor.islands, 1):
            around = polygon.sides(floor.ring(island))
            self._edges += [_Edge(side, ISLAND, number, Fraction(0), Fraction(0)) for side in around]
        self._on = {wall: floor.on(wall) for wall in range(1, outline.walls + 1)}
        self._clear = {wall: _clear(outline, wall) for wall in range(1, outline.walls + 1)}
        self._sweeps: dict[Direction, _Sweep] = {}

    def _sweep(self, direction: Direction) -> _Sweep:
        if direction not in self._sweeps:
            whole = lcm(direction[0].denominator, direction[1].denominator)
            way = int(direction[0] * whole), int(direction[1] * whole)
            aside = [tuple(way[0] * y - way[1] * x for x, y in edge.side) for edge in self._edges]
            seen = [(min(each), max(each), edge) for each, edge in zip(aside, self._edges, strict=True)]
            kept = sorted((each for each in seen if each[0] < each[1]), key=lambda each: each[:2])
            inch = Fraction(whole, self.floor.scale)
            self._sweeps[direction] = _Sweep(way, inch, tuple(low for low, _, _ in kept), tuple(kept))
        return self._sweeps[direction]

    def cast(self, wall: int, at: Length, direction: Direction, plate: Length) -> Chord:
        """From the wall point along `direction` (length one) to the first edge; from a hearth's front, if in one."""
        edge, sweep = self._walls[wall - 1], self._sweep(direction)
        if _out(edge, sweep.way) >= 0:
            raise ChordError(f"the pull from wall {wall} does not lead into the room: it must lead away from the wall")
        part, whole = at.inches.numerator * edge.end.denominator, at.inches.denominator * edge.end.numerator
        if not 0 <= part <= whole:
            raise ChordError(f"{at.inches} in lies beyond wall {wall}: it must lie within 0 to {edge.end} in")
        inside = (each for each in self._on[wall] if each.start < at < each.end)
        head = Footing(next((each.kind.value for each in inside), WALL), wall, at)
        if part in (0, whole) and (beside := self._neighbour(wall, part == 0, sweep.way)):
            return Chord(ZERO, head, beside, False)
        (ax, ay), (bx, by) = edge.side
        hits = _hits((ax * whole + (bx - ax) * part, ay * whole + (by - ay) * part), whole, sweep, wall)
        begin = Fraction(0)
        if head.kind == HEARTH:
            # The head stands at the hearth's front: the way over the hearth itself does not count.
            begin = min(Fraction(*hit[:2]) for hit in hits if hit[2].kind == HEARTH and hit[2].number == wall)
            hits = [hit for hit in hits if Fraction(*hit[:2]) > begin]
        first = hits[0]
        for hit in hits:
            if hit[0] * first[1] < first[0] * hit[1]:
                first = hit
        tail, overhangs = self._tail(first, plate)
        return Chord(Length((Fraction(first[0], first[1]) - begin) * sweep.reach), head, tail, overhangs)

    def _neighbour(self, wall: int, first: bool, way: Spot) -> Footing | None:
        """The wall that stands in the way at once: at a corner, where the pull leans over the wall beside."""
        outline = self.floor.outline
        other = (wall - 2 if first else wall) % outline.walls + 1
        edge = self._walls[other - 1]
        if outline.bend(other if first else wall) > 0 and _out(edge, way) > 0:
            return Footing(WALL, other, Length(edge.end) if first else ZERO)
        return None

    def _tail(self, hit: _Hit, plate: Length) -> tuple[Footing, bool]:
        """What stands there, and whether the plate overhangs a reflex corner."""
        _, whole, edge, part = hit
        if edge.kind == ISLAND:
            return Footing(ISLAND, edge.number, ZERO), False
        at = Length(edge.start + (edge.end - edge.start) * Fraction(part, whole))
        if edge.kind == HEARTH:
            return Footing(HEARTH, edge.number, at), False
        kind, half = WALL, plate * Fraction(1, 2)
        if openings := self._on[edge.number]:
            under = {each.kind for each in openings if each.start < at + half and at - half < each.end}
            kind = HEARTH if OpeningKind.HEARTH in under else DOORWAY if under else WALL
        before, after = self._clear[edge.number]
        over = (before is not None and at + before < half) or (after is not None and after - at < half)
        return Footing(kind, edge.number, at), over


def _out(edge: _Edge, way: Spot) -> int:
    """Over 0 where the way leads out through the wall, 0 where it runs along it."""
    (ax, ay), (bx, by) = edge.side
    return way[0] * (ay - by) + way[1] * (bx - ax)


def _hits(spot: Spot, whole: int, sweep: _Sweep, wall: int) -> list[_Hit]:
    """Every edge that the ray meets from `spot`, given in parts of which `whole` make a unit."""
    (along, up), aside = sweep.way, sweep.way[0] * spot[1] - sweep.way[1] * spot[0]
    found = []
    for _, high, edge in sweep.edges[: bisect_right(sweep.lows, aside // whole)]:
        if high * whole < aside or (edge.kind == WALL and edge.number == wall):
            continue
        (ax, ay), (bx, by) = edge.side
        across = along * (by - ay) - up * (bx - ax)
        sign = 1 if across > 0 else -1
        right, ahead = (ax * whole - spot[0]) * sign, (ay * whole - spot[1]) * sign
        far = right * (by - ay) - ahead * (bx - ax)
        if far > 0:
            found.append((far, across * sign * whole, edge, right * up - ahead * along))
    return found


def _clear(outline: Outline, wall: int) -> tuple[Length | None, Length | None]:
    """From the wall's first corner back, and from it on, to the next reflex corner along straight joints, if any."""
    back, last = ZERO, (wall - 2) % outline.walls + 1
    while not outline.bend(last):
        back += outline.length_of(last)
        last = (last - 2) % outline.walls + 1
    on, corner = outline.length_of(wall), wall
    while not outline.bend(corner):
        corner = corner % outline.walls + 1
        on += outline.length_of(corner)
    return back if outline.bend(last) < 0 else None, on if outline.bend(corner) < 0 else None


@lru_cache(maxsize=16)
def caster(floor: Floor) -> Caster:
    """The floor's own caster, made once."""
    return Caster(floor)


def chord(floor: Floor, wall: int, at: Length, axis: Axis, plate: Length, lean: Direction | None = None) -> Chord:
    """From the wall point straight back across the room to the first edge of wall, hearth or island: exact.

    Straight back is along `axis`, against the direction the wall faces; `lean` is another direction (length one, see
    `bearing`) from head to tail. An edge that is merely touched at its end counts, one that runs along the pull does
    not. From a corner that the pull leans over, the span is ZERO and the tail the wall beside. `plate` is the tail
    plate's width. Errors: ChordError for a place beyond the wall or a direction that leads out of the room.
    """
    return caster(floor).cast(wall, at, lean or _back(floor, wall, axis), plate)


def _back(floor: Floor, wall: int, axis: Axis) -> Direction:
    outward = floor.outline.outward(wall)
    out = outward[1] if axis is Axis.DOOR_TO_FAR else outward[0]
    sign = Fraction((out < 0) - (out > 0))
    return (Fraction(0), sign) if axis is Axis.DOOR_TO_FAR else (sign, Fraction(0))
