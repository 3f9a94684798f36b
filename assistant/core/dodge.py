"""Moves heads off barred ground while every gap stays legal; finds a way wherever there is one."""

from dataclasses import dataclass

from assistant.core.ground import Ground, Span, holds, join, meet, nearest, reach


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


def settle(even: tuple[int, ...], row: Row, ground: Ground, budget: int) -> tuple[int, ...] | None:
    """Centres of as many heads as `even`, at most `budget` of them on barred ground; None where there are none such.

    Every gap and both corners are legal. Head by head from the beginning, each stands as near its even place as the
    others allow, so the answer is one and only one.
    """
    while True:
        centres = _pick(even, row, ground.good(), budget)
        # Looking may find ground barred that the samples took for good: then it is learnt, and picked anew.
        if centres is None or sum([ground.look(each) for each in centres]) <= budget:
            return centres


def _pick(even: tuple[int, ...], row: Row, good: list[Span], budget: int) -> tuple[int, ...] | None:
    sets = _completable(len(even), row, good, budget)
    left, window, centres = budget, [(row.low, row.low + row.corner)], []
    for wanted, of_head in zip(even, sets, strict=True):
        allowed = meet(window, of_head[left])
        if not allowed:  # only ever at the first head: what follows a completable place is completable
            return None
        at = nearest(allowed, wanted)
        centres.append(at)
        left -= not holds(good, at)
        window = [(at + row.least, at + row.most)]
    return tuple(centres)


def _completable(count: int, row: Row, good: list[Span], budget: int) -> list[list[list[Span]]]:
    """For each head and each number of barred places still allowed: from where the row can be finished."""
    end, everywhere = [(row.high - row.corner, row.high)], [(row.low, row.high)]
    sets = [[meet(good, end)] + [meet(everywhere, end)] * budget]
    for _ in range(count - 1):
        before = [meet(everywhere, reach(each, -row.most, -row.least)) for each in sets[0]]
        sound = [meet(good, each) for each in before]
        sets.insert(0, [sound[0]] + [join(sound[i] + before[i - 1]) for i in range(1, budget + 1)])
    return sets
