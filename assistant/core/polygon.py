"""Closed rings of whole-number points: do they cross, touch, double back, hold a point. All exact."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

Spot = tuple[int, int]
"""x and y in whole units of some fine scale."""
Ring = Sequence[Spot]
"""Corners in order; the last is joined to the first."""
Side = tuple[Spot, Spot]


def sides(ring: Ring) -> list[Side]:
    """From each corner to the next."""
    return [*pairwise(ring), (ring[-1], ring[0])]


def cross(o: Spot, a: Spot, b: Spot) -> int:
    """Over 0 where b lies to the left of the line from o to a, under 0 to its right."""
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def dot(o: Spot, a: Spot, b: Spot) -> int:
    """Over 0 where b lies ahead of o, as seen towards a."""
    return (a[0] - o[0]) * (b[0] - o[0]) + (a[1] - o[1]) * (b[1] - o[1])


def doubled_area(ring: Ring) -> int:
    """Twice the area; over 0 where the ring runs clockwise."""
    return -sum(a[0] * b[1] - a[1] * b[0] for a, b in sides(ring))


def _apart(one: Side, two: Side) -> bool:
    (a, b), (c, d) = one, two
    return (
        max(a[0], b[0]) < min(c[0], d[0])
        or max(c[0], d[0]) < min(a[0], b[0])
        or max(a[1], b[1]) < min(c[1], d[1])
        or max(c[1], d[1]) < min(a[1], b[1])
    )


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def meeting(one: Side, two: Side) -> str:
    """'crosses' where each passes through the other, 'touches' where they share a point otherwise, else ''."""
    if _apart(one, two):
        return ""
    (a, b), (c, d) = one, two
    over_one = _sign(cross(a, b, c)) * _sign(cross(a, b, d))
    over_two = _sign(cross(c, d, a)) * _sign(cross(c, d, b))
    if over_one > 0 or over_two > 0:
        return ""
    return "crosses" if over_one < 0 and over_two < 0 else "touches"


def spikes(ring: Ring) -> Iterator[int]:
    """Sides (from 0) at whose end the ring doubles back."""
    count = len(ring)
    for at in range(count):
        before, here, after = ring[at], ring[(at + 1) % count], ring[(at + 2) % count]
        if cross(here, before, after) == 0 and dot(here, before, after) > 0:
            yield at


def self_meeting(ring: Ring) -> tuple[int, int, str] | None:
    """The first two sides (from 0), not neighbours, that meet, and how; a crossing before a touch."""
    found: tuple[int, int, str] | None = None
    every = sides(ring)
    order = sorted(range(len(every)), key=lambda side: min(every[side][0][0], every[side][1][0]))
    for place, one in enumerate(order):
        right = max(every[one][0][0], every[one][1][0])
        for two in order[place + 1 :]:
            if min(every[two][0][0], every[two][1][0]) > right:
                break
            if abs(one - two) in (1, len(every) - 1):
                continue
            how = meeting(every[one], every[two])
            if how and (found is None or (how, min(one, two), max(one, two)) < (found[2], *found[:2])):
                found = min(one, two), max(one, two), how
    return found


def rings_meet(one: Ring, two: Ring) -> int | None:
    """The first side (from 0) of `two` that meets a side of `one`, be it only by a point."""
    mine = sides(one)
    return next((at for at, side in enumerate(sides(two)) if any(meeting(side, own) for own in mine)), None)


def holds(ring: Ring, spot: Spot) -> bool:
    """Whether `spot`, which must not lie on the ring, lies inside it."""
    inside = False
    for a, b in sides(ring):
        if (a[1] > spot[1]) != (b[1] > spot[1]):
            inside ^= (cross(a, b, spot) > 0) == (b[1] > a[1])
    return inside


def enters(convex: Ring, side: Side) -> bool:
    """Whether `side` has a point strictly inside a convex clockwise ring."""
    low, high, scale = 0, 1, 1
    a, b = side
    for edge in sides(convex):
        at_a, at_b = -cross(*edge, a), -cross(*edge, b)
        if at_a <= 0 and at_b <= 0:
            return False
        if at_a <= 0 or at_b <= 0:
            part, whole = at_a, at_a - at_b
            if whole < 0:
                part, whole = -part, -whole
            # The side passes this edge at part / whole of its way: inwards where it began outside.
            low, high, scale, part = low * whole, high * whole, scale * whole, part * scale
            low, high = (max(low, part), high) if at_a <= 0 else (low, min(high, part))
    return low < high


def overlap(one: Ring, two: Ring) -> bool:
    """Whether two convex clockwise rings share more than an edge."""
    return not (_parted(one, two) or _parted(two, one))


def _parted(one: Ring, two: Ring) -> bool:
    return any(all(cross(*edge, spot) >= 0 for spot in two) for edge in sides(one))
