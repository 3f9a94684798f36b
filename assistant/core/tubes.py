"""The tubes for every pull of a pass: fewest pieces, least change from pull to pull, lever about half-way."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from math import lcm

from assistant.core.deadman import MIDDLE, split
from assistant.core.kit import Build, Kit, Lack, Shortage, Tube
from assistant.core.length import Length
from assistant.core.tube_path import Choices, Stage, Way
from assistant.core.tube_sums import Counts, TubeSums, sums_of


@dataclass(frozen=True)
class Change:
    """What to do to one build to get the next one."""

    add: tuple[Tube, ...] = ()
    remove: tuple[Tube, ...] = ()
    hole: int = 0
    """The hole to move the extension to; 0 = it stays."""

    @property
    def count(self) -> int:
        """Tubes added and removed, and one for a hole moved."""
        return sum(each.count for each in (*self.add, *self.remove)) + (self.hole > 0)


def builds(kit: Kit, spans: Sequence[Length], distance: Length = MIDDLE) -> tuple[Build | Shortage, ...]:
    """A build for each span of a pass, in order; the head stands `distance` from its wall.

    Each has the fewest tubes that leave the lever in its window; of all such ways through the pass this one has the
    least changes in all, and of those the one whose levers stand nearest half-way. A span no build reaches gets its
    shortage; across it the tubes stay as they were.
    """
    sums = sums_of(kit)
    runs = [(span, len(list(run))) for span, run in groupby(spans)]
    fewest = {span: sums.fewest(span - distance) for span, _ in runs}
    wanted = [_Wanted(span - distance, count, pieces) for span, count in runs if (pieces := fewest[span]) is not None]
    ways = iter(_way(sums, wanted))
    found: list[Build | Shortage] = []
    for span, count in runs:
        found += [_shortage(kit, span, distance) if fewest[span] is None else next(ways)] * count
    return tuple(found)


def _shortage(kit: Kit, span: Length, distance: Length) -> Shortage:
    need = span - distance
    lack = Lack.TOO_LONG if need > kit.most else Lack.TOO_SHORT if need < kit.least else Lack.BETWEEN
    parts = split(span, kit, distance)
    if parts is None:
        return Shortage(lack, sums_of(kit).nearest(need), span, 0)
    (each,) = builds(kit, [parts.part], distance)
    assert isinstance(each, Build), "a part is one that the kit reaches"
    return Shortage(lack, sums_of(kit).nearest(need), span, parts.parts, each)


@dataclass(frozen=True)
class _Wanted:
    need: Length
    pulls: int
    pieces: int


def _way(sums: TubeSums, wanted: Sequence[_Wanted]) -> list[Build]:
    if not wanted:
        return []
    scale = _Scale(sums, wanted)
    codes = Way(scale.stages, scale.whole(sums.kit.window), scale.bases).codes()
    return [scale.build(code, each.need) for code, each in zip(codes, wanted, strict=True)]


class _Scale:
    """Between exact lengths and the whole numbers that the search works with."""

    def __init__(self, sums: TubeSums, wanted: Sequence[_Wanted]) -> None:
        self.sums, self.kit = sums, sums.kit
        lengths = [self.kit.bare, self.kit.hole_pitch, self.kit.window, *(each.need for each in wanted)]
        self.unit = lcm(sums.unit.denominator, *(each.inches.denominator for each in lengths))
        self.bases = [self.whole(self.kit.bare + self.kit.hole_pitch * hole) for hole in range(self.kit.holes)]
        choices = {pieces: self._choices(pieces, wanted) for pieces in {each.pieces for each in wanted}}
        rising = {pieces: sorted(found) for pieces, found in choices.items()}
        self.stages = [self._stage(each, choices[each.pieces], rising[each.pieces]) for each in wanted]

    def whole(self, length: Length) -> int:
        """In the search's unit."""
        return int(length.inches * self.unit)

    def _choices(self, pieces: int, wanted: Sequence[_Wanted]) -> dict[int, list[int]]:
        ranges = [each for want in wanted if want.pieces == pieces for each in self.sums.ranges(want.need)]
        per = int(self.sums.unit * self.unit)
        found: dict[int, list[int]] = {}
        for total, counts in self.sums.choices(pieces, ranges):
            found.setdefault(total * per, []).append(self._code(counts))
        return found

    def _stage(self, want: _Wanted, choices: Choices, rising: Sequence[int]) -> Stage:
        need, window = self.whole(want.need), self.whole(self.kit.window)
        stands = tuple(
            (total, hole)
            for hole, base in enumerate(self.bases)
            for total in rising[bisect_left(rising, need - window - base) : bisect_right(rising, need + window - base)]
        )
        return Stage(need, want.pulls, want.pieces, stands, choices)

    def _code(self, counts: Counts) -> int:
        code, place = 0, self.kit.holes
        for count, tube in zip(counts, self.kit.tubes, strict=True):
            code |= ((1 << 2 * count) - 1) << place
            place += 2 * tube.count
        return code

    def build(self, code: int, need: Length) -> Build:
        """What a code stands for."""
        hole = (code & ((1 << self.kit.holes) - 1)).bit_length()
        tubes, total = self._tubes(code >> self.kit.holes)
        lever = need - self.kit.bare - self.kit.hole_pitch * (hole - 1) - total
        return Build(tubes, hole if self.kit.holes > 1 else 0, lever)

    def _tubes(self, code: int) -> tuple[tuple[Tube, ...], Length]:
        """The tubes of a code without its hole, and their sum."""
        found: list[Tube] = []
        for each in self.kit.tubes:
            count = (code & ((1 << 2 * each.count) - 1)).bit_count() // 2
            found += [Tube(each.length, count)] if count else []
            code >>= 2 * each.count
        return tuple(found), Length(sum((each.length.inches * each.count for each in found), Fraction(0)))


def change(before: Build | Shortage | None, after: Build) -> Change:
    """What to do; from nothing, or from a pull that could not be reached, everything is to be added."""
    if not isinstance(before, Build):
        return Change(after.tubes, (), after.hole)
    old, new = ({each.length: each.count for each in build.tubes} for build in (before, after))
    lengths = sorted({*old, *new}, reverse=True)
    more = {each: new.get(each, 0) - old.get(each, 0) for each in lengths}
    add = tuple(Tube(each, count) for each, count in more.items() if count > 0)
    remove = tuple(Tube(each, -count) for each, count in more.items() if count < 0)
    return Change(add, remove, 0 if before.hole == after.hole else after.hole)
