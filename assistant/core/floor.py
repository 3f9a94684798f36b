"""The floor to be carpeted: an outline with its openings and islands."""

from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from itertools import pairwise
from math import lcm
from typing import Any

from assistant.core import polygon
from assistant.core.length import ZERO, Length, System
from assistant.core.outline import Outline, Point, on_tape
from assistant.core.polygon import Ring

_SAYS = {
    "no_wall": "the {kind} stands in wall {wall}; the room has walls 1 to {walls}",
    "empty_opening": "the {kind} in wall {wall} has no width; its end must lie beyond its start",
    "beyond_wall": "the {kind} in wall {wall} runs from {start} to {end}; "
    "it must lie within the wall, which is {length} long",
    "overlapping": "two openings in wall {wall} overlap: the {one} ending at {ends} "
    "and the {other} beginning at {begins}; "
    "each must end before the next begins",
    "no_depth": "the hearth in wall {wall} has no depth; give how far it stands out into the room",
    "too_deep": "the hearth in wall {wall}, {depth} deep, runs into another wall; it must end inside the room",
    "hearths_meet": "the hearths in wall {other} and wall {wall} overlap; give each its own floor",
    "island_shape": "island {island} is no closed shape: {what}; give three or more corners whose sides do not cross",
    "island_meets_wall": "island {island} meets wall {wall}; an island must stand free: say it as walls",
    "island_outside": "island {island} lies outside the room; give its corners inside the walls",
    "island_meets_hearth": "island {island} meets the hearth in wall {wall}; an island must stand free",
    "islands_meet": "island {island} meets island {other}; give them as one",
}


class FloorError(ValueError):
    """Openings or islands that cannot be: says what is wrong and what would be right, in one line."""

    def __init__(self, why: str, wall: int | None = None, island: int | None = None, **told: object) -> None:
        self.why = why
        """A key of the messages, such as 'beyond_wall'."""
        self.wall = wall
        """Counted from 1; None where it is not about one."""
        self.island = island
        """Counted from 1; None where it is not about one."""
        self._told = told
        super().__init__(self.on_tape(System.IMPERIAL))

    def on_tape(self, system: System) -> str:
        """The line with its lengths as on that tape."""
        return _SAYS[self.why].format(wall=self.wall, island=self.island, **on_tape(self._told, system))


class OpeningKind(Enum):
    """What takes the strip's place."""

    DOORWAY = "doorway"
    HEARTH = "hearth"


@dataclass(frozen=True)
class Opening:
    """A stretch of wall without strip."""

    kind: OpeningKind
    wall: int
    """From 1."""
    start: Length
    """From the wall's first corner: its left end, as one faces it."""
    end: Length
    depth: Length = ZERO
    """How far a hearth stands out into the room."""


@dataclass(frozen=True)
class Floor:
    """Checks itself (FloorError)."""

    outline: Outline
    openings: tuple[Opening, ...] = ()
    islands: tuple[tuple[Point, ...], ...] = ()
    """Each a ring of corners, either way round, that stands free in the room: floor without carpet."""

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        # Kept: plans ask for the same floor's chords hundreds of times.
        return hash((self.outline, self.openings, self.islands))

    def __post_init__(self) -> None:
        for opening in self.openings:
            _check_opening(self.outline, opening)
        for wall in range(1, self.outline.walls + 1):
            _check_neighbours(wall, self.on(wall))
        _check_hearths(self)
        _check_islands(self)

    def on(self, wall: int) -> tuple[Opening, ...]:
        """The openings of a wall, from its first corner on."""
        return tuple(each for each in self._along if each.wall == wall)

    @cached_property
    def _along(self) -> list[Opening]:
        return sorted(self.openings, key=lambda each: (each.start, each.end))

    @property
    def hearths(self) -> tuple[Opening, ...]:
        """In the order given."""
        return tuple(each for each in self.openings if each.kind is OpeningKind.HEARTH)

    def strip(self, wall: int) -> tuple[tuple[Length, Length], ...]:
        """Stretches of the wall with strip, along the wall: doorways and hearths taken out."""
        length = self.outline.length_of(wall)
        starts = (ZERO, *(each.end for each in self.on(wall)))
        ends = (*(each.start for each in self.on(wall)), length)
        return tuple((start, end) for start, end in zip(starts, ends, strict=True) if start < end)

    def place(self, wall: int, along: Length, depth: Length = ZERO) -> Point:
        """The point so far along the wall and so far in front of it."""
        a, b = self.outline.ends(wall)
        share, out = along.per(self.outline.length_of(wall)), depth.per(self.outline.length_of(wall))
        x, y = b.x - a.x, b.y - a.y
        return Point(a.x + x * share + y * out, a.y + y * share - x * out)

    def front(self, hearth: Opening) -> tuple[Point, ...]:
        """The hearth's corners, clockwise: along the wall, then back at its depth."""
        none = self.place(hearth.wall, hearth.start), self.place(hearth.wall, hearth.end)
        deep = self.place(hearth.wall, hearth.end, hearth.depth), self.place(hearth.wall, hearth.start, hearth.depth)
        return (*none, *deep)

    @cached_property
    def scale(self) -> int:
        """Whole units to the inch in which every corner of outline, hearths and islands is a whole number."""
        points = [point for ring in (*map(self.front, self.hearths), *self.islands) for point in ring]
        return lcm(self.outline.scale, *(each.denominator for point in points for each in (point.x, point.y)))

    def ring(self, points: tuple[Point, ...]) -> Ring:
        """In units of `scale`."""
        return tuple((int(point.x * self.scale), int(point.y * self.scale)) for point in points)


def _check_opening(outline: Outline, opening: Opening) -> None:
    told: dict[str, Any] = {"kind": opening.kind.value, "start": opening.start, "end": opening.end}
    if not 1 <= opening.wall <= outline.walls:
        raise FloorError("no_wall", opening.wall, walls=outline.walls, **told)
    if opening.start >= opening.end:
        raise FloorError("empty_opening", opening.wall, **told)
    length = outline.length_of(opening.wall)
    if opening.start < ZERO or opening.end > length:
        raise FloorError("beyond_wall", opening.wall, length=length, **told)
    if opening.kind is OpeningKind.HEARTH and opening.depth <= ZERO:
        raise FloorError("no_depth", opening.wall)


def _check_neighbours(wall: int, openings: tuple[Opening, ...]) -> None:
    for one, other in pairwise(openings):
        if one.end > other.start:
            told: dict[str, Any] = {"one": one.kind.value, "other": other.kind.value}
            raise FloorError("overlapping", wall, ends=one.end, begins=other.start, **told)


def _check_hearths(floor: Floor) -> None:
    walls = polygon.sides(floor.ring(floor.outline.corners))
    fronts = [floor.ring(floor.front(hearth)) for hearth in floor.hearths]
    for place, hearth in enumerate(floor.hearths):
        others = [side for wall, side in enumerate(walls, 1) if wall != hearth.wall]
        if any(polygon.enters(fronts[place], side) for side in others):
            raise FloorError("too_deep", hearth.wall, depth=hearth.depth)
        for before in range(place):
            if polygon.overlap(fronts[before], fronts[place]):
                raise FloorError("hearths_meet", hearth.wall, other=floor.hearths[before].wall)


def _check_islands(floor: Floor) -> None:
    rings = [floor.ring(points) for points in floor.islands]
    outline = floor.ring(floor.outline.corners)
    fronts = [(hearth.wall, floor.ring(floor.front(hearth))) for hearth in floor.hearths]
    for island, ring in enumerate(rings, 1):
        if what := _fault(ring):
            raise FloorError("island_shape", island=island, what=what)
        met = polygon.rings_meet(ring, outline)
        if met is not None:
            raise FloorError("island_meets_wall", met + 1, island)
        if not polygon.holds(outline, ring[0]):
            raise FloorError("island_outside", island=island)
        for wall, front in fronts:
            if _joined(front, ring):
                raise FloorError("island_meets_hearth", wall, island)
        for before in range(island - 1):
            if _joined(rings[before], ring):
                raise FloorError("islands_meet", island=island, other=before + 1)


def _joined(one: Ring, two: Ring) -> bool:
    if polygon.rings_meet(one, two) is not None:
        return True
    return polygon.holds(one, two[0]) or polygon.holds(two, one[0])


def _fault(ring: Ring) -> str:
    if len(ring) < 3:
        return f"it has {len(ring)} corners"
    if any(a == b for a, b in polygon.sides(ring)):
        return "two corners are the same"
    if any(True for _ in polygon.spikes(ring)) or polygon.self_meeting(ring):
        return "its sides meet"
    return ""
