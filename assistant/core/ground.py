"""Where along a stretch of wall a head may stand: sets of closed spans, in whole units of some fine scale."""

from bisect import bisect_left
from collections.abc import Iterable
from fractions import Fraction
from math import ceil, floor
from typing import NamedTuple

Span = tuple[int, int]
"""From its first to its last unit, both included."""


class Bar(NamedTuple):
    """Barred ground: all between `low` and `high`, these excluded; the one place where both are the same."""

    low: Fraction
    high: Fraction
    why: str
    """'doorway', 'hearth', 'island', 'reflex'."""

    def holds(self, at: Fraction) -> bool:
        """Whether that place is barred."""
        return self.low < at < self.high or self.low == at == self.high


def join(spans: Iterable[Span]) -> list[Span]:
    """The same ground in spans that neither touch nor overlap, from the left."""
    joined: list[Span] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def meet(one: list[Span], two: list[Span]) -> list[Span]:
    """The ground common to both; each must be joined."""
    common: list[Span] = []
    i = j = 0
    while i < len(one) and j < len(two):
        low, high = max(one[i][0], two[j][0]), min(one[i][1], two[j][1])
        if low <= high:
            common.append((low, high))
        if one[i][1] < two[j][1]:
            i += 1
        else:
            j += 1
    return common


def reach(spans: list[Span], least: int, most: int) -> list[Span]:
    """All that lies from `least` to `most` further on (back, where negative) than some point of `spans`."""
    return join((low + least, high + most) for low, high in spans)


def nearest(spans: list[Span], to: int) -> int:
    """The point of `spans` next to `to`; of two as near, the left one."""
    return min((min(max(low, to), high) for low, high in spans), key=lambda at: (abs(at - to), at))


def good(bars: Iterable[Bar], within: Span) -> list[Span]:
    """What the bars, given in units, leave of `within`; a unit is barred where it lies in a bar."""
    shut = join(span for bar in bars for span in [_shut(bar)] if span[0] <= span[1])
    lows = [within[0], *(max(high + 1, within[0]) for _, high in shut)]
    highs = [*(min(low - 1, within[1]) for low, _ in shut), within[1]]
    return [(low, high) for low, high in zip(lows, highs, strict=True) if low <= high]


def _shut(bar: Bar) -> Span:
    """First and last unit in a bar; the last before the first where there is none."""
    if bar.low == bar.high:
        return ceil(bar.low), floor(bar.high)
    return floor(bar.low) + 1, ceil(bar.high) - 1


def holds(spans: list[Span], at: int) -> bool:
    """Does `at` lie in joined `spans`?"""
    place = bisect_left(spans, (at + 1,)) - 1
    return place >= 0 and at <= spans[place][1]
