"""What the readings so far teach: gain per bite, fall-back, when to measure again, how even the pulls are."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import ceil
from statistics import median

from assistant.core import trade
from assistant.core.band import Band, Verdict, judge, percent
from assistant.core.length import ZERO, Length
from assistant.core.order import Direction
from assistant.core.plan import Pull
from assistant.core.record import PullRecord


@dataclass(frozen=True)
class FallBack:
    """Stretch lost at hooking, learnt from the hold readings of this room."""

    expected: Length
    """Median."""
    at_most: Length
    """Median plus three median absolute deviations, never below the largest of fewer than four."""


def fall_back(records: Iterable[PullRecord]) -> FallBack | None:
    """The room's estimate; None before the first hold reading. Losses below zero count as zero."""
    losses = [max(each.fall_back, ZERO).inches for each in records if each.fall_back is not None]
    if not losses:
        return None
    middle = median(losses)
    spread = median([abs(each - middle) for each in losses])
    bound = middle + 3 * spread
    if len(losses) < 4:
        bound = max(bound, *losses)
    return FallBack(Length(middle), Length(bound))


def gain_per_bite(record: PullRecord) -> Length | None:
    """Median movement of the bites of this stroke; None without a reading."""
    moved = [each.moved.inches for each in record.stroke]
    gains = [after - before for before, after in pairwise([Fraction(0), *moved]) if after > before]
    return Length(median(gains)) if gains else None


def bites_missing(record: PullRecord, missing: Length) -> int | None:
    """About how many more bites; None without a gain to go by."""
    gain = gain_per_bite(record)
    return None if gain is None else max(1, ceil(missing.per(gain)))


def hold_is_due(place_in_pass: int, since_hold: int, margin: Length | None, loss: FallBack | None) -> bool:
    """Should this pull be measured again after hooking?

    `place_in_pass` from 0; `since_hold` pulls of the pass since the last hold reading; `margin` reading minus least,
    None where nobody gave a figure.
    """
    if place_in_pass < trade.HOLD_FIRST.value or loss is None:
        return True
    thin = margin is not None and margin < loss.at_most
    return thin or since_hold + 1 >= trade.HOLD_EVERY.value


def target(band: Band, loss: FallBack | None, step: Length) -> Length:
    """The working target, on a mark of the tape: the least plus the expected fall-back, never over the most."""
    if loss is None:
        return band.tape_least
    wanted = (band.least + loss.expected).up_to(step)
    return wanted if band.tape_most is None else max(band.tape_least, min(wanted, band.tape_most))


@dataclass(frozen=True)
class Outcome:
    """The final word on a pull."""

    moved: Length
    verdict: Verdict
    measured: bool
    """On the hold reading; otherwise on the reading less the expected fall-back."""


def outcome(pull: Pull, record: PullRecord, loss: FallBack | None) -> Outcome | None:
    """The final verdict: on the hold reading if there is one; None for a pull not hooked, skipped, or not measured."""
    if record.skipped or not record.hooked:
        return None
    if record.hold is not None:
        return Outcome(record.hold.moved, judge(record.hold.moved, pull.band), measured=True)
    if record.reading is None:
        return None
    moved = record.reading - (loss.expected if loss else ZERO)
    return Outcome(moved, judge(moved, pull.band), measured=False)


def missing(moved: Length, band: Band) -> Length:
    """How much more it takes to reach the tape's least."""
    return band.tape_least - moved


@dataclass(frozen=True)
class Jump:
    """Two neighbouring pulls that moved unevenly."""

    first: Pull
    second: Pull
    points: Fraction
    """Difference of their stretch, percentage points."""


def jumps(pulls: Sequence[tuple[Pull, Outcome | None]]) -> list[Jump]:
    """Neighbours along a wall whose stretch differs by more than the setting; skipped ones break the chain."""
    found = []
    for direction in Direction:
        row = sorted((each for each in pulls if each[0].direction is direction), key=lambda each: each[0].position)
        for (one, first), (two, second) in pairwise(row):
            if first is None or second is None:
                continue
            points = abs(percent(first.moved, one.span) - percent(second.moved, two.span))
            if points > trade.NEIGHBOUR_JUMP.value:
                found.append(Jump(one, two, points))
    return found
