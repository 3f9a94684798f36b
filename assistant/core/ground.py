"""Where along a stretch of wall a head may stand: sets of closed spans, in whole units of some fine scale."""

from bisect import bisect_left
from collections.abc import Callable, Iterable
from itertools import pairwise

Span = tuple[int, int]
"""From its first to its last unit, both included."""


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


class Ground:
    """Finds out by sampling which centres are barred.

    Looked at: every `step`, both ends, every place named to `look`; where one sample is barred and its neighbour is
    not, the edge is halved down to `fine`. Between two good samples the ground counts as good until a look proves it
    otherwise.
    """

    def __init__(self, span: Span, step: int, fine: int, barred: Callable[[int], bool]) -> None:
        self._fine, self._barred = fine, barred
        self._seen: dict[int, bool] = {}
        low, high = span
        for at in (*range(low, high, step), high):
            self.look(at)
        self._sharpen()

    def look(self, at: int) -> bool:
        """Is this centre barred? Remembered as a sample."""
        if at not in self._seen:
            self._seen[at] = self._barred(at)
        return self._seen[at]

    def good(self) -> list[Span]:
        """Runs of good samples, as spans."""
        runs: list[Span] = []
        open_run = False
        for at in sorted(self._seen):
            if self._seen[at]:
                open_run = False
            elif open_run:
                runs[-1] = (runs[-1][0], at)
            else:
                runs.append((at, at))
                open_run = True
        return runs

    def _sharpen(self) -> None:
        places = sorted(self._seen)
        for left, right in pairwise(places):
            one, two = left, right
            while self._seen[one] != self._seen[two] and two - one > self._fine:
                middle = (one + two) // 2
                if self.look(middle) == self._seen[one]:
                    one = middle
                else:
                    two = middle


def holds(spans: list[Span], at: int) -> bool:
    """Does `at` lie in joined `spans`?"""
    place = bisect_left(spans, (at + 1,)) - 1
    return place >= 0 and at <= spans[place][1]
