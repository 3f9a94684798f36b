"""What one wall sees along one direction: how far off each edge is, and where a head's tail would stand badly."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import NamedTuple

from assistant.core.bearing import Direction
from assistant.core.edge import WALL, Blot, Edge
from assistant.core.ground import Bar
from assistant.core.polygon import Spot


class Seen(NamedTuple):
    """An edge as seen along a direction, in whole numbers."""

    low: int
    """Least and most aside of the direction."""
    high: int
    edge: Edge
    begins: int
    """Aside, of the edge's two ends."""
    ends: int
    across: int
    """How squarely the direction meets the edge, over 0: distances to it count in parts of this."""
    rise: Spot
    """The edge's own course, turned so that `across` is over 0."""
    level: int
    """Where the edge's line lies: a spot's distance to it is level - spot x rise, in parts."""
    blots: tuple[Bar, ...]
    """Places aside, where a tail against it would stand badly."""


class Sweep:
    """All edges as seen along one direction, from the least aside on.

    Edges along the direction are left out: they are grazed, not met.
    """

    def __init__(self, edges: Sequence[Edge], direction: Direction, scale: int) -> None:
        whole = lcm(direction[0].denominator, direction[1].denominator)
        self.way: Spot = int(direction[0] * whole), int(direction[1] * whole)
        self.reach = Fraction(whole, scale)
        """Inches in one length of `way`."""
        met = (_seen(edge, self.way) for edge in edges)
        self._seen = sorted((each for each in met if each.low < each.high), key=lambda each: each[:2])
        self._lows = [each.low for each in self._seen]

    def aside(self, spot: Spot) -> int:
        """How far a spot lies to the left of the direction."""
        return self.way[0] * spot[1] - self.way[1] * spot[0]

    def between(self, low: int, high: int, less: Edge) -> list[Seen]:
        """The edges that lie there aside, be it with an end, but for `less`."""
        until = bisect_right(self._lows, high)
        return [each for each in self._seen[:until] if each.high >= low and each.edge is not less]


def _seen(edge: Edge, way: Spot) -> Seen:
    (ax, ay), (bx, by) = edge.side
    begins, ends = way[0] * ay - way[1] * ax, way[0] * by - way[1] * bx
    sign = 1 if begins < ends else -1
    rise = (bx - ax) * sign, (by - ay) * sign
    level = ax * rise[1] - ay * rise[0]
    blots = tuple(_seen_blot(blot, edge.end, begins, ends) for blot in edge.blots)
    low, high = sorted((begins, ends))
    return Seen(low, high, edge, begins, ends, abs(ends - begins), rise, level, blots)


def _seen_blot(blot: Blot, length: Fraction, begins: int, ends: int) -> Bar:
    low, high = sorted(begins + (ends - begins) * each / length for each in (blot.low, blot.high))
    return Bar(low, high, blot.why)


class Hit(NamedTuple):
    """An edge met on the way from one place of the wall."""

    far: int
    """Over how many parts of ..."""
    seen: Seen
    """... so many (`across`) times the `whole` of the place."""

    def nearer(self, other: "Hit") -> bool:
        """Both from the same place."""
        return self.far * other.seen.across < other.far * self.seen.across


class View:
    """One wall's outlook. A place on the wall is given as `part` of `whole`, whole numbers, from its first corner."""

    def __init__(self, sweep: Sweep, wall: Edge) -> None:
        self.sweep, self.wall = sweep, wall
        (self._from, self._to), self._length = wall.side, wall.end
        self._begins, self._ends = map(sweep.aside, wall.side)
        low, high = sorted((self._begins, self._ends))
        self._seen = sweep.between(low, high, wall)

    def spot(self, part: int, whole: int) -> Spot:
        """The place, in parts of which `whole` make a unit of the floor's scale."""
        (ax, ay), (bx, by) = self._from, self._to
        return ax * whole + (bx - ax) * part, ay * whole + (by - ay) * part

    def hits(self, part: int, whole: int) -> list[Hit]:
        """Every edge met; one merely touched at its end counts."""
        (x, y), aside = self.spot(part, whole), self._begins * whole + (self._ends - self._begins) * part
        found = []
        for each in self._seen:
            if each.low * whole > aside:
                break
            if each.high * whole >= aside:
                far = each.level * whole - x * each.rise[1] + y * each.rise[0]
                if far > 0:
                    found.append(Hit(far, each))
        return found

    def along(self, hit: Hit, part: int, whole: int) -> Fraction:
        """Where on its own wall the edge is met (inches)."""
        edge, (begins, ends) = hit.seen.edge, (hit.seen.begins, hit.seen.ends)
        aside = (self._begins - begins) * whole + (self._ends - self._begins) * part
        run = edge.length
        share = Fraction(run.numerator * aside, run.denominator * (ends - begins) * whole)
        return edge.start + share if edge.start else share

    def tail(self, hits: list[Hit], part: int, whole: int) -> tuple[Hit, Fraction, tuple[str, ...]]:
        """The nearest of the hits, where it is met, and why a tail stands badly there, worst first; () where well.

        Of two that are as near, as at a corner, the one against which the tail stands badly.
        """
        near = nearest(hits)
        told = [(hit, at, _troubles(hit.seen.edge, at)) for hit in near for at in [self.along(hit, part, whole)]]
        return next((each for each in told if each[2]), told[0])

    def bars(self) -> tuple[Bar, ...]:
        """Every place of the wall whose tail would stand badly, exactly."""
        return tuple(self._bars())

    def _bars(self) -> Iterator[Bar]:
        low, high = sorted((self._begins, self._ends))
        ends = {end for each in self._seen for end in (each.low, each.high) if low < end < high}
        if not ends and not any(each.edge.blots or each.edge.kind != WALL for each in self._seen):
            return
        for one, two in pairwise(sorted({low, high, *ends})):
            # Edges do not cross, so that one edge is the nearest all the way between two ends.
            place = self._place(one + two, 2)
            yield from self._between(one, two, nearest(self.hits(*place))[0].seen)
        for end in ends:
            place = self._place(end, 1)
            if (hits := self.hits(*place)) and (why := self.tail(hits, *place)[2]):
                at = self._inches(Fraction(end))
                yield Bar(at, at, why[0])

    def _between(self, one: int, two: int, seen: Seen) -> Iterator[Bar]:
        """Of the places between `one` and `two` aside, from which that edge is the nearest."""
        if seen.edge.kind != WALL:
            yield self._bar(Fraction(one), Fraction(two), seen.edge.kind)
        for low, high, why in seen.blots:
            if low < two and high > one:
                yield self._bar(max(low, Fraction(one)), min(high, Fraction(two)), why)

    def _bar(self, one: Fraction, two: Fraction, why: str) -> Bar:
        ends = self._inches(one), self._inches(two)
        return Bar(min(ends), max(ends), why)

    def _place(self, aside: int, parts: int) -> tuple[int, int]:
        """`aside` counted in so many parts of a unit."""
        part, whole = aside - self._begins * parts, (self._ends - self._begins) * parts
        return (part, whole) if whole > 0 else (-part, -whole)

    def _inches(self, aside: Fraction) -> Fraction:
        return (aside - self._begins) * self._length / (self._ends - self._begins)


def nearest(hits: list[Hit]) -> list[Hit]:
    """The nearest of the hits from one place; two or more where they are as near, as at a corner."""
    first = hits[0]
    for hit in hits:
        if hit.nearer(first):
            first = hit
    return [hit for hit in hits if not first.nearer(hit)]


def _troubles(edge: Edge, at: Fraction) -> tuple[str, ...]:
    if edge.kind != WALL:
        return (edge.kind,)
    return tuple(each.why for each in edge.blots if each.low < at < each.high)
