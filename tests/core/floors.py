"""Random simple rooms, by a seed, rectilinear and oblique; and what tests measure in a room."""

from fractions import Fraction
from functools import lru_cache
from math import cos, pi, sin
from random import Random

from hypothesis import strategies as some

from assistant.core import polygon
from assistant.core.bearing import Direction
from assistant.core.chord import Caster, Chord
from assistant.core.compass import Axis
from assistant.core.floor import Floor
from assistant.core.length import Length
from assistant.core.outline import Outline, OutlineError, Point


def points(*corners: tuple[int, int]) -> tuple[Point, ...]:
    return tuple(Point(Fraction(x), Fraction(y)) for x, y in corners)


def rectilinear(seed: Random) -> Outline:
    """A skyline over a cellar: every wall along an axis, alcoves and breasts on the far and the door side."""
    while True:
        tops, bottoms = _steps(seed, 120, 300), _steps(seed, -120, 60)
        corners = [*tops, *reversed(bottoms)]
        stretch = max(x for x, _ in tops) - max(x for x, _ in bottoms)
        if stretch:
            last = max(x for x, _ in corners)
            corners = [(last if x in (tops[-1][0], bottoms[-1][0]) else x, y) for x, y in corners]
        try:
            return Outline(tuple(Point(Fraction(x, 16), Fraction(y, 16)) for x, y in corners))
        except OutlineError:
            continue


def _steps(seed: Random, low: int, high: int) -> list[tuple[int, int]]:
    x, found = 0, []
    for _ in range(seed.randint(1, 6)):
        y, wide = seed.randint(low * 16, high * 16), seed.randint(160, 1600)
        found += [(x, y), (x + wide, y)]
        x += wide
    return found


def oblique(seed: Random) -> Outline:
    """A star of random rays, clockwise: no wall along an axis but by chance."""
    count = seed.randint(3, 14)
    while True:
        angles = sorted(seed.uniform(0, 2 * pi) for _ in range(count))
        reach = [seed.uniform(30, 240) for _ in range(count)]
        spots = [
            (round(far * sin(angle) * 16), round(far * cos(angle) * 16))
            for far, angle in zip(reach, angles, strict=True)
        ]
        try:
            return Outline(tuple(Point(Fraction(x, 16), Fraction(y, 16)) for x, y in spots))
        except OutlineError:
            continue


def area(outline: Outline) -> Fraction:
    """Square inches."""
    return Fraction(polygon.doubled_area(outline.ring), 2 * outline.scale**2)


def outward(outline: Outline, wall: int) -> tuple[Fraction, Fraction]:
    """Square to the wall out of the room; as long as the wall."""
    a, b = outline.ends(wall)
    return a.y - b.y, b.x - a.x


def chord(floor: Floor, wall: int, at: Length, axis: Axis, plate: Length, lean: Direction | None = None) -> Chord:
    """From the wall point back across the room, straight along `axis` or in the direction `lean`."""
    return caster(floor, plate).stand(wall, lean or _back(floor, wall, axis)).cast(at)


@lru_cache(maxsize=16)
def caster(floor: Floor, plate: Length) -> Caster:
    return Caster(floor, plate)


def _back(floor: Floor, wall: int, axis: Axis) -> Direction:
    out = outward(floor.outline, wall)[1 if axis is Axis.DOOR_TO_FAR else 0]
    sign = Fraction((out < 0) - (out > 0))
    return (Fraction(0), sign) if axis is Axis.DOOR_TO_FAR else (sign, Fraction(0))


def any_room(seed: Random) -> Outline:
    return rectilinear(seed) if seed.random() < 0.5 else oblique(seed)


def outlines() -> some.SearchStrategy[Outline]:
    return some.integers(0, 10**6).map(lambda seed: any_room(Random(seed)))
