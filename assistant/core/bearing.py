"""Directions on the floor, as rational points of the unit circle, so that a walk along oblique walls stays exact."""

from fractions import Fraction
from functools import cache
from math import pi, tan

Direction = tuple[Fraction, Fraction]
"""x and y of a step of length one."""

_QUARTERS = ((0, 1), (1, 0), (0, -1), (-1, 0))


@cache
def heading(degrees: Fraction) -> Direction:
    """The direction `degrees` to the right of straight away from the door (which is 0, 1).

    Exact for multiples of 90, else within 1e-12 of the angle: t = tan(half the rest) is taken as the float gives it,
    and ((1 - t^2) / (1 + t^2), 2t / (1 + t^2)) lies on the circle for every rational t.
    """
    quarters = round(degrees / 90)
    x, y = _QUARTERS[quarters % 4]
    rest = degrees - quarters * 90
    if not rest:
        return Fraction(x), Fraction(y)
    half = Fraction(tan(float(rest) * pi / 360))
    along, aside = (1 - half**2) / (1 + half**2), 2 * half / (1 + half**2)
    return x * along + y * aside, y * along - x * aside


def turned(direction: Direction, degrees: Fraction) -> Direction:
    """`direction` turned to the right by `degrees`."""
    aside, along = heading(degrees)
    x, y = direction
    return x * along + y * aside, y * along - x * aside
