"""A room told wall by wall is a survey traverse: how far it fails to close, who is to blame, and how it is closed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import accumulate
from math import ceil, isqrt

from assistant.core import trade
from assistant.core.bearing import Direction, heading
from assistant.core.length import ZERO, Length, System, tape
from assistant.core.outline import Leg, Outline, OutlineError, Point

_STEP = System.IMPERIAL.graduation
_FINE = 2032
"""Parts of an inch: 1/16 in is 127 of them, 1 mm is 80."""
_GRAIN = 2**40
"""Steps along oblique walls are kept to this part of an inch, so that their denominators stay small."""
_NOTHING = Fraction(1, 10**6)
"""A misclosure of less, inches, is rounding along oblique walls."""


@dataclass(frozen=True)
class ClosureRule:
    """How far a walk may fail to close."""

    fixed: Length = Length(trade.CLOSURE_FIXED.value)
    share: Fraction = trade.CLOSURE_SHARE.value
    """Of the perimeter, on top."""

    def tolerance(self, legs: Sequence[Leg]) -> Length:
        """For these walls."""
        return self.fixed + sum((leg.length for leg in legs), ZERO) * self.share


@dataclass(frozen=True)
class Misclosure:
    """From the walk's start to its end, which should be the same corner."""

    x: Fraction
    y: Fraction
    distance: Length
    """Rounded up to 1/2032 in: the marks of either tape are whole numbers of it."""
    tolerance: Length
    suspect: int
    """The wall most likely wrong, from 1."""

    @property
    def within(self) -> bool:
        """Whether it may be spread over the walls."""
        return self.x**2 + self.y**2 <= self.tolerance.inches**2

    def off(self, system: System) -> Length:
        """The distance as it is told: rounded up to a mark of the tape."""
        return self.distance.up_to(system.graduation)

    def told(self, system: System) -> str:
        """'1/2 in of 2 1/2 in allowed': by marks, and never more than is allowed where it is within."""
        off = min(self.off(system), self.tolerance) if self.within else self.off(system)
        found, most = (tape(each.nearest(system.graduation), system) for each in (off, self.tolerance))
        return f"{found} of {most} allowed"


@dataclass(frozen=True)
class _Walk:
    """The legs laid end to end from 0, 0."""

    legs: tuple[Leg, ...]
    rule: ClosureRule

    @cached_property
    def headings(self) -> tuple[Direction, ...]:
        turns = accumulate((leg.turn for leg in self.legs[:-1]), initial=Fraction(0))
        return tuple(heading(turn % 360) for turn in turns)

    @cached_property
    def ends(self) -> tuple[tuple[Fraction, Fraction], ...]:
        """Where each wall ends."""
        steps = [(_step(leg, way[0]), _step(leg, way[1])) for leg, way in zip(self.legs, self.headings, strict=True)]
        return tuple(zip(accumulate(step[0] for step in steps), accumulate(step[1] for step in steps), strict=True))

    @cached_property
    def misclosure(self) -> Misclosure:
        x, y = self.ends[-1]
        far = Fraction(0) if x**2 + y**2 < _NOTHING**2 else x**2 + y**2
        return Misclosure(x, y, _root_up(far), self.rule.tolerance(self.legs), self.suspect)

    @property
    def closes(self) -> bool:
        x, y = self.ends[-1]
        return x**2 + y**2 <= self.rule.tolerance(self.legs).inches ** 2

    def outline(self) -> Outline:
        """Bowditch: each corner is moved by the misclosure's share that the walls up to it have in the perimeter."""
        x, y = self.ends[-1]
        gone = list(accumulate(leg.length.inches for leg in self.legs))
        parts = [Fraction(0), *(each / gone[-1] for each in gone[:-1])]
        places = [(Fraction(0), Fraction(0)), *self.ends[:-1]]
        return Outline(tuple(Point(a - x * part, b - y * part) for (a, b), part in zip(places, parts, strict=True)))

    @property
    def sound(self) -> bool:
        """Whether it closes within tolerance into a room."""
        try:
            return self.closes and bool(self.outline())
        except OutlineError:
            return False

    def excess(self, wall: int) -> Fraction:
        """How much longer than right the wall must be, were it alone to blame (inches)."""
        (x, y), way = self.ends[-1], self.headings[wall - 1]
        return x * way[0] + y * way[1]

    def mended(self, wall: int) -> "_Walk | None":
        """With that wall as long as closes best; None where nothing of it would be left."""
        leg = self.legs[wall - 1]
        length = leg.length - Length(self.excess(wall))
        if length <= ZERO:
            return None
        return _Walk((*self.legs[: wall - 1], replace(leg, length=length), *self.legs[wall:]), self.rule)

    def mends(self, wall: int) -> bool:
        """Whether another length of that wall leaves a sound room."""
        mended = self.mended(wall)
        return mended is not None and mended.sound

    @cached_property
    def suspect(self) -> int:
        (x, y), walls = self.ends[-1], range(1, len(self.legs) + 1)
        aside = {wall: abs(x * self.headings[wall - 1][1] - y * self.headings[wall - 1][0]) for wall in walls}
        least = min(aside.values())
        parallel = [wall for wall in walls if aside[wall] <= least + _STEP.inches]
        likely = sorted(parallel, key=lambda wall: (-self.legs[wall - 1].length.inches, wall))
        return next((wall for wall in likely if self.mends(wall)), likely[0])

    def flipped(self, *walls: int) -> "_Walk":
        """With the turns at the ends of these walls the other way."""
        legs = enumerate(self.legs, 1)
        return _Walk(tuple(replace(leg, turn=-leg.turn) if wall in walls else leg for wall, leg in legs), self.rule)


def misclosure(legs: Sequence[Leg], tolerance: ClosureRule | None = None) -> Misclosure:
    """How far the walls fail to close, and the wall most likely wrong.

    A wrong length leaves a gap along its own wall, so the suspects are the walls parallel to the misclosure (as near
    as a tape tells: within 1/16 in aside). Of these the first choice are those whose right length, the one that closes
    best, leaves a sound room (closed within tolerance, nothing crossing, not shorter than nothing); among them the
    longest (a long reach is the likeliest misread, and the change is the smallest part of it), then the first walked.
    Errors: OutlineError for turns that cannot close, naming the turn that mends it where one flipped turn does.
    """
    walk = _Walk(tuple(legs), tolerance or ClosureRule())
    _check(walk)
    return walk.misclosure


def close(legs: Sequence[Leg], tolerance: ClosureRule | None = None) -> tuple[Outline, Misclosure]:
    """The outline, closed by the compass (Bowditch) rule, and the misclosure that was spread.

    Beyond tolerance: OutlineError 'does_not_close' with the suspect wall and the length that would be right; where no
    one length mends it, or only one off by more than half, and two opposite turns taken the other way do,
    'turns_swapped' names those instead.
    """
    walk = _Walk(tuple(legs), tolerance or ClosureRule())
    _check(walk)
    if not walk.closes:
        raise _blame(walk)
    return walk.outline(), walk.misclosure


def _check(walk: _Walk) -> None:
    if len(walk.legs) < 3:
        raise OutlineError("too_few_walls", walls=len(walk.legs))
    for wall, leg in enumerate(walk.legs, 1):
        if leg.length <= ZERO:
            raise OutlineError("zero_wall", wall)
        if abs(leg.turn) >= 180:
            raise OutlineError("spike", wall)
    total = sum(leg.turn for leg in walk.legs)
    if total == -360:
        raise OutlineError("walked_backwards")
    if total != 360:
        raise _turns(walk, Fraction(total))


def _turns(walk: _Walk, total: Fraction) -> OutlineError:
    """Of the turns whose flip makes 360, one that leaves a sound room, else the one that closes best."""
    able = [wall for wall, leg in enumerate(walk.legs, 1) if total - 2 * leg.turn == 360]
    if able:
        walks = {wall: walk.flipped(wall) for wall in able}
        off = {wall: sum(each**2 for each in walks[wall].ends[-1]) for wall in able}
        best = min(able, key=lambda wall: (not walks[wall].sound, off[wall], wall))
        return OutlineError("turn_flipped", best, total=_plain(total))
    way = "few" if total < 360 else "many"
    return OutlineError("turns_do_not_close", total=_plain(total), off=_plain(abs(360 - total)), way=way)


def _blame(walk: _Walk) -> OutlineError:
    found = walk.misclosure
    told = {"distance": found.off(System.IMPERIAL), "tolerance": found.tolerance.down_to(_STEP)}
    wall, excess = found.suspect, walk.excess(found.suspect)
    length, mends = walk.legs[wall - 1].length, walk.mends(wall)
    # Nobody misreads a wall by more than half of it: two turns taken the wrong way are likelier.
    if not mends or abs(excess) > length.inches / 2:
        for one, other in _swaps(walk.legs):
            if walk.flipped(one, other).sound:
                return OutlineError("turns_swapped", one, other=other, **told)
    if not mends:
        return OutlineError("does_not_close_anywhere", wall, **told)
    right = (length - Length(excess)).nearest(_STEP)
    return OutlineError("does_not_close", wall, right=right, **told)


def _swaps(legs: Sequence[Leg]) -> Iterator[tuple[int, int]]:
    """Walls with opposite turns, nearest pairs first: those flipped leave the sum of turns alone."""
    count = len(legs)
    for apart in range(1, count):
        for one in range(1, count - apart + 1):
            if legs[one - 1].turn == -legs[one + apart - 1].turn != 0:
                yield one, one + apart


def _step(leg: Leg, part: Fraction) -> Fraction:
    step = leg.length.inches * part
    return step if part.denominator == 1 else Fraction(round(step * _GRAIN), _GRAIN)


def _root_up(square: Fraction) -> Length:
    """The least number of these fine steps that is no less than the root."""
    sought = ceil(square * _FINE**2)
    least = isqrt(sought)
    return Length(Fraction(least if least**2 == sought else least + 1, _FINE))


def _plain(degrees: Fraction) -> str:
    return f"{float(degrees):g}"
