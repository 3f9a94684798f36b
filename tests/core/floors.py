"""Random simple rooms, by a seed: rectilinear and oblique."""

from fractions import Fraction
from math import cos, pi, sin
from random import Random

from hypothesis import strategies as some

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


def any_room(seed: Random) -> Outline:
    return rectilinear(seed) if seed.random() < 0.5 else oblique(seed)


def outlines() -> some.SearchStrategy[Outline]:
    return some.integers(0, 10**6).map(lambda seed: any_room(Random(seed)))
