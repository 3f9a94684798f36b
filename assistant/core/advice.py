"""What the readings so far teach: gain per bite, fall-back, when to measure again, what to do next, how even it is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from math import ceil
from statistics import median

from assistant.core import trade
from assistant.core.band import Band, Verdict, judge, percent
from assistant.core.length import ZERO, Length
from assistant.core.pull import Pass, Pull
from assistant.core.record import PullRecord

Made = Sequence[tuple[Pull, PullRecord]]
"""Pulls of one direction with what became of them, in the order they were made."""


@dataclass(frozen=True)
class FallBack:
    """Stretch lost at hooking, learnt from the hold readings."""

    expected: Length
    """Median."""
    at_most: Length
    """Median plus three median absolute deviations, never below the largest of fewer than four."""

    @property
    def at_least(self) -> Length:
        """As far below the median as the bound is above it; never below nothing."""
        return max(ZERO, self.expected * 2 - self.at_most)


def fall_back(records: Iterable[PullRecord]) -> FallBack | None:
    """The room's estimate; None before the first hold reading. Losses below zero count as zero."""
    return _bounded([loss.inches for each in records for loss in each.losses])


def _bounded(losses: Sequence[Fraction]) -> FallBack | None:
    """Median and upper bound; None without losses."""
    losses = [max(each, Fraction(0)) for each in losses]
    if not losses:
        return None
    middle = median(losses)
    spread = median([abs(each - middle) for each in losses])
    bound = middle + 3 * spread
    if len(losses) < 4:
        bound = max(bound, *losses)
    return FallBack(Length(middle), Length(bound))


def fall_back_at(made: Made, others: Made = ()) -> FallBack | None:
    """The estimate for the last pull of `made`: its direction's hold readings, before the first the `others`'.

    Losses count as shares of their spans. The latest HOLD_WINDOW make the estimate; where they drift, each is carried
    to the present pull along the drift first, though never beyond what was seen.
    """
    if not made:
        return None
    seen = tuple(_losses(made)[-int(trade.HOLD_WINDOW.value) :])
    shares = _carried(seen, len(made) - 1) if seen else tuple(share for _, share in _losses(others))
    return _bounded([share * made[-1][0].stretched.inches for share in shares])


@lru_cache(maxsize=64)
def _carried(seen: tuple[tuple[int, Fraction], ...], place: int) -> tuple[Fraction, ...]:
    """What was seen, as it would be at `place`."""
    slope, most = slope_of(seen), max(share for _, share in seen)
    return tuple(min(share + slope * (place - at), most) if slope else share for at, share in seen)


def _losses(made: Made) -> list[tuple[int, Fraction]]:
    """(place, loss as a share of the span) of every hold reading."""
    measured = [
        (at, pull.stretched, record.losses) for at, (pull, record) in enumerate(made) if record.hold or record.lost
    ]
    return [(at, loss.per(stretched)) for at, stretched, losses in measured for loss in losses]


def slope_of(points: Sequence[tuple[int, Fraction]]) -> Fraction:
    """Change per pull: the median of the slopes between all pairs (Theil 1950, Sen 1968).

    Zero for fewer than DRIFT_LEAST points, or where the change from end to end does not stand out of the scatter: it
    must be over three median absolute deviations from the median.
    """
    if len(points) < trade.DRIFT_LEAST.value:
        return Fraction(0)
    slopes = [(b - a) / (y - x) for i, (x, a) in enumerate(points) for y, b in points[i + 1 :] if y != x]
    if not slopes:
        return Fraction(0)
    slope = median(slopes)
    level = median([value - slope * at for at, value in points])
    rest = median([abs(value - slope * at - level) for at, value in points])
    run = abs(slope) * (points[-1][0] - points[0][0])
    return slope if run > 3 * rest else Fraction(0)


def gain_per_bite(record: PullRecord) -> Length | None:
    """Median movement of the bites of this stroke; None without one.

    The first reading after a slip or a reopening is no bite: nobody knows where it began.
    """
    readings = record.stroke
    start = [] if readings and readings[0].fresh else [Fraction(0)]
    moved = [*start, *(each.moved.inches for each in readings)]
    gains = [after - before for before, after in pairwise(moved) if after > before]
    return Length(median(gains)) if gains else None


def gain_between(record: PullRecord) -> Length | None:
    """Median gain from reading to reading of this stroke, which began at any height; None with fewer than two."""
    gains = [two.moved.inches - one.moved.inches for one, two in pairwise(record.stroke) if two.moved > one.moved]
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


def guarded(loss: FallBack | None) -> FallBack | None:
    """The estimate with its bound widened by what a few readings cannot know: used to decide about a hold reading."""
    if loss is None:
        return None
    return FallBack(loss.expected, loss.at_most * trade.HOLD_BOUND.value + Length(trade.HOLD_GUARD.value))


def target(band: Band, loss: FallBack | None, step: Length) -> Length:
    """The working target, on a mark of the tape: the least, what hooking loses at most, and what the tape may be off.

    Never so much that the hold is expected beyond the middle of the band; but where the band is narrower than the tape
    is fine, no less than what is expected to hold enough.
    """
    if loss is None:
        return band.tape_least
    wanted = (band.least + loss.at_most + Length(trade.TARGET_GUARD.value)).up_to(step)
    if band.most is None:
        return wanted
    middle = (band.least + band.most) * Fraction(1, 2) + loss.expected
    return max((band.least + loss.expected).up_to(step), min(wanted, middle.down_to(step)))


class Move(Enum):
    """What to do after a reading."""

    BITE = "short: another bite"
    BITE_MORE = "in band, but hooking may lose it: another bite"
    BITE_OVER = "over now, but hooking may lose too much: another bite"
    HOOK = "hook it"
    HOOK_OVER = "over now, but hooking brings it back"
    HOOK_NEAREST = "over, but no mark of the tape fits better"
    EASE = "over: ease off"

    @property
    def hooks(self) -> bool:
        """It is hooked as it stands."""
        return self in (Move.HOOK, Move.HOOK_OVER, Move.HOOK_NEAREST)


def move(
    moved: Length, band: Band, loss: FallBack | None, gain: Length | None, step: Length, *, eased: bool = False
) -> Move:
    """What to do at a reading of `moved`, by what the hold should be.

    Under the target another bite, unless one of `gain` might carry the hold over the most and it is expected to be
    enough: then it is hooked, and the hold reading that such a thin margin calls for decides. So it is once the pull
    was eased: no to and fro. What was told to aim for is never eased, even where it is not sure to come back.
    """
    expected, sure, aim = ZERO, ZERO, target(band, loss, step)
    if loss is not None:
        expected, sure = loss.expected, max(ZERO, loss.at_least - Length(trade.OVER_GUARD.value))
    if moved < band.least:
        return Move.BITE
    if band.most is not None and moved > max(band.most + sure, aim):
        return Move.EASE
    short = moved - expected < band.least
    fits = band.most is None or moved + (gain or ZERO) - expected <= band.most
    if moved < aim and (short or fits) and not eased:
        return Move.BITE_OVER if judge(moved, band) is Verdict.OVER else Move.BITE_MORE
    if band.most is None or moved <= band.most:
        return Move.HOOK
    return Move.HOOK_OVER if moved - expected <= band.most else Move.HOOK_NEAREST


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
class Drift:
    """A pass whose pulls change steadily from its first to its last."""

    what: str
    """'stretch' or 'fall-back'."""
    first: Pull
    last: Pull
    points: Fraction
    """The change between them, percentage points of the span; positive = more at the last."""


def drifts(passes: Sequence[Pass], records: Sequence[PullRecord], loss: FallBack | None) -> list[Drift]:
    """What drifts over the setting in these passes; `records` are those of the whole plan, `loss` the room's."""
    rows = [[(pull, records[pull.number - 1]) for pull in each.pulls] for each in passes]
    return [found for row in rows for what in ("stretch", "fall-back") if (found := _drift(what, row, loss))]


def _drift(what: str, row: Made, loss: FallBack | None) -> Drift | None:
    points = [(at, value) for at, pair in enumerate(row) if (value := _share(what, *pair, loss)) is not None]
    run = slope_of(points) * (points[-1][0] - points[0][0]) if points else Fraction(0)
    if abs(run) <= trade.DRIFT_RUN.value:
        return None
    return Drift(what, row[points[0][0]][0], row[points[-1][0]][0], run)


def _share(what: str, pull: Pull, record: PullRecord, loss: FallBack | None) -> Fraction | None:
    """Stretch or fall-back in per cent of the span, where the pull has one."""
    if what == "fall-back":
        return None if record.fall_back is None else percent(record.fall_back, pull.stretched)
    found = outcome(pull, record, loss)
    return None if found is None else percent(found.moved, pull.stretched)
