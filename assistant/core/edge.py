"""The edges of a floor as a stretcher's tail meets them: walls, hearths, islands, and where its plate stands badly."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from assistant.core import polygon
from assistant.core.floor import Floor, OpeningKind
from assistant.core.length import ZERO, Length
from assistant.core.outline import Outline
from assistant.core.polygon import Side

WALL, DOORWAY, HEARTH, ISLAND = "wall", "doorway", "hearth", "island"
REFLEX = "reflex"


@dataclass(frozen=True)
class Blot:
    """A stretch of a wall, its ends excluded, where the middle of a tail's plate stands badly."""

    low: Fraction
    """Inches along the wall; may lie beyond its end."""
    high: Fraction
    why: str
    """'hearth' or 'doorway' where the plate overlaps one, 'reflex' where it overhangs a reflex corner."""


@dataclass(frozen=True)
class Edge:
    """One straight side of wall, hearth or island."""

    side: Side
    """In units of the floor's scale."""
    kind: str
    number: int
    """Of its wall, from 1; of an island its own number."""
    start: Fraction
    """Where along its wall the side begins and ends (inches)."""
    end: Fraction
    blots: tuple[Blot, ...] = ()
    """A hearth's before a doorway's before a corner's: of two that overlap the first is told."""

    @cached_property
    def length(self) -> Fraction:
        """Inches along its wall; under 0 where it runs against it."""
        # Kept: every chord that meets the edge asks for it.
        return self.end - self.start

    def is_front(self, wall: int) -> bool:
        """Whether it belongs to a hearth of that wall."""
        return self.kind == HEARTH and self.number == wall


def edges_of(floor: Floor, plate: Length) -> tuple[Edge, ...]:
    """The walls in their order, then hearth fronts and islands; `plate` is the width of the tail's plate."""
    outline, zero = floor.outline, Fraction(0)
    edges = []
    for wall, side in enumerate(polygon.sides(floor.ring(outline.corners)), 1):
        blots = tuple(_blots(floor, wall, plate * Fraction(1, 2)))
        edges.append(Edge(side, WALL, wall, zero, outline.length_of(wall).inches, blots))
    for hearth in floor.hearths:
        start, end = hearth.start.inches, hearth.end.inches
        along = ((end, end), (end, start), (start, start))
        fronts = zip(polygon.sides(floor.ring(floor.front(hearth)))[1:], along, strict=True)
        edges += [Edge(side, HEARTH, hearth.wall, *ends) for side, ends in fronts]
    for number, island in enumerate(floor.islands, 1):
        edges += [Edge(side, ISLAND, number, zero, zero) for side in polygon.sides(floor.ring(island))]
    return tuple(edges)


def _blots(floor: Floor, wall: int, half: Length) -> Iterator[Blot]:
    for kind in (OpeningKind.HEARTH, OpeningKind.DOORWAY):
        for each in floor.on(wall):
            if each.kind is kind:
                yield Blot((each.start - half).inches, (each.end + half).inches, kind.value)
    before, after = _clear(floor.outline, wall)
    if before is not None and before < half:
        yield Blot(-half.inches, (half - before).inches, REFLEX)
    length = floor.outline.length_of(wall)
    if after is not None and after - half < length:
        yield Blot((after - half).inches, (length + half).inches, REFLEX)


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
