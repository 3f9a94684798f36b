"""Which lengths the tubes of a kit add up to, with how many of them, and by which choice."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import islice
from math import ceil, floor, lcm

from assistant.core.kit import Kit
from assistant.core.length import Length

Counts = tuple[int, ...]
"""How many of each of the kit's tube lengths, longest first."""

MOST_WAYS = 20_000
"""Up to so many choices all are looked at; only kits of many near-equal tubes have more (design choice)."""
SOME_WAYS = 10
"""Otherwise so many for each length and hole: sound builds of fewest pieces, their changes not proven the least."""


class TubeSums:
    """The sums of a kit's tubes, in a unit that divides them all."""

    def __init__(self, kit: Kit) -> None:
        self.kit = kit
        self.unit = Fraction(1, lcm(*(each.length.inches.denominator for each in kit.tubes)))
        fixed = (kit.bare, kit.hole_pitch, kit.window)
        self._grain = lcm(self.unit.denominator, *(each.inches.denominator for each in fixed))
        self._ranges: dict[Length, list[tuple[int, int]]] = {}
        self.sizes = tuple(int(each.length.inches / self.unit) for each in kit.tubes)

    @cached_property
    def reachable(self) -> tuple[int, ...]:
        """By number of pieces: a bit set of the sums that so many tubes can have."""
        found = [1] + [0] * self.kit.pieces
        for size, tube in zip(self.sizes, self.kit.tubes, strict=True):
            for _ in range(tube.count):
                for pieces in range(self.kit.pieces, 0, -1):
                    found[pieces] |= found[pieces - 1] << size
        return tuple(found)

    def ranges(self, need: Length) -> list[tuple[int, int]]:
        """By hole: least and most sum that leaves the lever in its window at `need`; least > most = none."""
        if need not in self._ranges:
            kit = self.kit
            scale = lcm(need.inches.denominator, self._grain)
            rest, pitch, window, unit = (
                int(each * scale)
                for each in ((need - kit.bare).inches, kit.hole_pitch.inches, kit.window.inches, self.unit)
            )
            centres = range(rest, rest - pitch * kit.holes, -pitch)
            self._ranges[need] = [(-((window - each) // unit), (each + window) // unit) for each in centres]
        return self._ranges[need]

    def fewest(self, need: Length) -> int | None:
        """The fewest tubes that leave the lever in its window at `need`; None where no choice does."""
        ranges = [(max(low, 0), high) for low, high in self.ranges(need) if high >= max(low, 0)]
        for pieces, sums in enumerate(self.reachable):
            if any((sums >> low) & ((1 << (high - low + 1)) - 1) for low, high in ranges if low < sums.bit_length()):
                return pieces
        return None

    def nearest(self, need: Length) -> Length:
        """How far the nearest build's window is from a `need` that no build reaches."""
        everything = 0
        for sums in self.reachable:
            everything |= sums
        away = min(
            abs(wanted - (found * self.unit))
            for wanted in ((need - self.kit.bare - self.kit.hole_pitch * hole).inches for hole in range(self.kit.holes))
            for found in _around(everything, wanted / self.unit)
        )
        return Length(away) - self.kit.window

    def choices(self, pieces: int, ranges: Sequence[tuple[int, int]]) -> list[tuple[int, Counts]]:
        """The choices of so many tubes with a sum in one of `ranges` (and maybe between them), with their sums, rising.

        All of them; where there are more than MOST_WAYS, the first SOME_WAYS of each range.
        """
        least, most = min(low for low, _ in ranges), max(high for _, high in ranges)
        found = set(islice(self._walk(0, pieces, least, most, ()), MOST_WAYS + 1))
        if len(found) > MOST_WAYS:
            found = {
                each for low, high in set(ranges) for each in islice(self._walk(0, pieces, low, high, ()), SOME_WAYS)
            }
        return sorted(found)

    def _walk(self, place: int, pieces: int, low: int, high: int, taken: Counts) -> Iterator[tuple[int, Counts]]:
        if not pieces:
            if low <= 0 <= high:
                yield self._sum(taken), taken + (0,) * (len(self.sizes) - place)
            return
        least, most = self._bounds[place]
        if pieces >= len(least) or least[pieces] > high or most[pieces] < low:
            return
        size = self.sizes[place]
        for count in range(min(pieces, self.kit.tubes[place].count), -1, -1):
            gone = count * size
            yield from self._walk(place + 1, pieces - count, low - gone, high - gone, (*taken, count))

    def _sum(self, taken: Counts) -> int:
        return sum(map(int.__mul__, taken, self.sizes))

    @cached_property
    def _bounds(self) -> list[tuple[list[int], list[int]]]:
        """By place: least and most sum of so many of the tubes from that place on."""
        found = []
        for place in range(len(self.sizes) + 1):
            rest = [
                s for s, tube in zip(self.sizes[place:], self.kit.tubes[place:], strict=True) for _ in range(tube.count)
            ]
            found.append((_running(rest[::-1]), _running(rest)))
        return found


def _running(sizes: list[int]) -> list[int]:
    total = [0]
    for each in sizes:
        total.append(total[-1] + each)
    return total


def _around(sums: int, wanted: Fraction) -> Iterator[int]:
    """The sums just below and just above."""
    below = sums & ((1 << max(floor(wanted) + 1, 0)) - 1)
    if below:
        yield below.bit_length() - 1
    above = sums >> max(ceil(wanted), 0)
    if above:
        yield max(ceil(wanted), 0) + (above & -above).bit_length() - 1


@lru_cache(maxsize=8)
def sums_of(kit: Kit) -> TubeSums:
    """The kit's sums, worked out once."""
    return TubeSums(kit)
