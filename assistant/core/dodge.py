"""Moves heads off barred ground while every gap stays legal; finds a way wherever there is one."""

from dataclasses import dataclass

from assistant.core.ground import Span, holds, join, meet, nearest, reach


@dataclass(frozen=True)
class Row:
    """What a row of heads along one stretch must keep to, in whole units."""

    low: int
    """The first centre possible: the head touches the stretch's beginning."""
    high: int
    """The last one."""
    corner: int
    """The outer heads stand at most so far from the ends."""
    least: int
    """Between neighbouring centres."""
    most: int


@dataclass(frozen=True)
class _Levels:
    """Where a head may stand so that the row can be finished, by how many barred places it takes from there on."""

    base: int
    """With fewer there is no such place."""
    spans: tuple[list[Span], ...]
    """For `base` and so on; the last for as many as one likes."""

    def at(self, spoiled: int) -> list[Span]:
        return self.spans[min(spoiled - self.base, len(self.spans) - 1)] if spoiled >= self.base else []


def settle(even: tuple[int, ...], row: Row, good: list[Span]) -> tuple[tuple[int, ...], int]:
    """Centres of as many heads as `even`, and how many of them stand off the `good` ground: as few as can be.

    Every gap and both corners are legal; `even` itself must be. Head by head from the beginning, each stands as near
    its even place as the others allow, so the answer is one and only one.
    """
    levels, window = _levels(len(even), row, good), [(row.low, row.low + row.corner)]
    spoiled = levels[0].base
    while not meet(window, levels[0].at(spoiled)):
        spoiled += 1
    left, centres = spoiled, []
    for wanted, level in zip(even, levels, strict=True):
        at = nearest(meet(window, level.at(left)), wanted)
        centres.append(at)
        left -= not holds(good, at)
        window = [(at + row.least, at + row.most)]
    return tuple(centres), spoiled


def _levels(count: int, row: Row, good: list[Span]) -> list[_Levels]:
    """For each head from the first on."""
    after = [(row.high - row.corner, row.high)]
    levels = [_level(good, 0, [after])]
    for _ in range(count - 1):
        room = [(row.low, row.high)]
        before = [meet(room, reach(each, -row.most, -row.least)) for each in levels[-1].spans]
        levels.append(_level(good, levels[-1].base, before))
    return levels[::-1]


def _level(good: list[Span], base: int, allowed: list[list[Span]]) -> _Levels:
    """Of a head that may stand on `allowed` where the heads after it take `base`, one more, ... barred places."""
    spans = [meet(good, allowed[0])]
    for fewer, here in zip(allowed, [*allowed[1:], allowed[-1]], strict=True):
        spans.append(join([*meet(good, here), *fewer]))
    while len(spans) > 1 and spans[-1] == spans[-2]:
        spans.pop()
    empty = next(place for place, each in enumerate(spans) if each)
    return _Levels(base + empty, tuple(spans[empty:]))
