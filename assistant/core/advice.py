"""What the readings so far teach: gain per bite, fall-back, when to measure again, what to do next, how even it is."""

from bisect import bisect_left, bisect_right
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
from assistant.core.order import Direction
from assistant.core.pull import Pass, Pull
from assistant.core.record import PullRecord, Status


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


@dataclass(frozen=True)
class Shares:
    """What hooking was seen to lose, per cent of the span."""

    usual: Fraction
    """Median."""
    at_most: Fraction
    """As of FallBack."""


def fall_back(records: Iterable[PullRecord]) -> FallBack | None:
    """Of all pulls alike, be their spans long or short: the rule of the first logs. None without a hold reading."""
    return _bounded([loss.inches for each in records for loss in each.losses])


def _bounded(losses: Sequence[Fraction]) -> FallBack | None:
    found = _middle_and_bound(losses)
    return None if found is None else FallBack(*map(Length, found))


def _middle_and_bound(losses: Sequence[Fraction]) -> tuple[Fraction, Fraction] | None:
    """Median and upper bound; None without losses. Those below zero count as zero."""
    losses = [max(each, Fraction(0)) for each in losses]
    if not losses:
        return None
    middle = median(losses)
    spread = median([abs(each - middle) for each in losses])
    bound = middle + 3 * spread
    if len(losses) < 4:
        bound = max(bound, *losses)
    return middle, bound


Seen = Sequence[tuple[int, Fraction]]
"""Hold readings of a direction in their order: which of its pulls, from 0, and the loss as a share of the span."""


class Losses:
    """What hooking was seen to lose at the pulls of a plan, and by it what it loses at any of them.

    The one estimate for voice, screens, report and ledger: by all that is known at the time.
    """

    def __init__(self, pulls: Iterable[Pull], records: Iterable[PullRecord]) -> None:
        """`records` = one for each of the pulls, which are numbered from 1."""
        self._places: list[int] = []
        self._seen: dict[Direction, list[tuple[int, Fraction]]] = {each: [] for each in Direction}
        made = dict.fromkeys(Direction, 0)
        for pull, record in zip(pulls, records, strict=True):
            way, place = pull.direction, made[pull.direction]
            self._places.append(place)
            made[way] = place + 1
            if record.hold or record.lost:
                self._seen[way] += [(place, loss.per(pull.stretched)) for loss in record.losses]

    def at(self, pull: Pull) -> FallBack | None:
        """At one pull of the plan; None before the first hold reading."""
        others = [each for way, seen in self._seen.items() if way is not pull.direction for each in seen]
        shares = losses_at(self._places[pull.number - 1], self._seen[pull.direction], others)
        return _bounded([share * pull.stretched.inches for share in shares])

    def seen(self, *directions: Direction) -> Shares | None:
        """What was seen in these directions together; None without a hold reading."""
        found = _middle_and_bound([share * 100 for way in directions for _, share in self._seen[way]])
        return None if found is None else Shares(*found)


def losses_at(place: int, own: Seen, others: Seen) -> tuple[Fraction, ...]:
    """What hooking may lose at `place` of a direction, as shares: by its `own` hold readings, else by the `others`'.

    The HOLD_WINDOW nearest to it make the estimate; where they drift, each is carried to the place along the drift
    first, though never beyond what was seen.
    """
    if not own:
        return tuple(share for _, share in others)
    return _carried(tuple(sorted(_nearest(own, place))), place)


def _nearest(own: Seen, place: int) -> Seen:
    """The HOLD_WINDOW nearest, the latest first of those as near; looked for among as many on either side."""
    count = int(trade.HOLD_WINDOW.value)
    here = bisect_left(own, place, key=_place)
    last = _place(own[min(here + count, len(own)) - 1])
    latest_first = own[max(0, here - count) : bisect_right(own, last, key=_place)][::-1]
    return sorted(latest_first, key=lambda each: abs(each[0] - place))[:count]


def _place(seen: tuple[int, Fraction]) -> int:
    return seen[0]


def _carried(seen: tuple[tuple[int, Fraction], ...], place: int) -> tuple[Fraction, ...]:
    """What was seen, as it would be at `place`."""
    slope, most = _slope(seen), max(share for _, share in seen)
    return tuple(min(share + slope * (place - at), most) if slope else share for at, share in seen)


@lru_cache(maxsize=512)
def _slope(seen: tuple[tuple[int, Fraction], ...]) -> Fraction:
    return slope_of(seen)


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
    """On the hold reading; otherwise on the reading less what hooking is expected to lose at this pull (`Losses`)."""


def outcomes(pulls: Sequence[Pull], records: Sequence[PullRecord]) -> tuple[Outcome | None, ...]:
    """The final word on every pull of a plan, by all that is known of what hooking loses."""
    losses = Losses(pulls, records)
    return tuple(outcome(pull, record, losses) for pull, record in zip(pulls, records, strict=True))


def outcome(pull: Pull, record: PullRecord, losses: Losses) -> Outcome | None:
    """The final verdict: on the hold reading if there is one; None for a pull not done, skipped, or not measured."""
    if record.status is not Status.DONE:
        return None
    if record.hold is not None:
        return Outcome(record.hold.moved, judge(record.hold.moved, pull.band), measured=True)
    if record.reading is None:
        return None
    loss = losses.at(pull)
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


Row = Sequence[tuple[Pull, PullRecord, Outcome | None]]


def drifts(passes: Sequence[Pass], records: Sequence[PullRecord], made: Sequence[Outcome | None]) -> list[Drift]:
    """What drifts over the setting in these passes; `records` and `made` are those of the whole plan."""
    rows = [[(pull, records[pull.number - 1], made[pull.number - 1]) for pull in each.pulls] for each in passes]
    return [found for row in rows for what in ("stretch", "fall-back") if (found := _drift(what, row))]


def _drift(what: str, row: Row) -> Drift | None:
    points = [(at, value) for at, each in enumerate(row) if (value := _share(what, *each)) is not None]
    run = slope_of(points) * (points[-1][0] - points[0][0]) if points else Fraction(0)
    if abs(run) <= trade.DRIFT_RUN.value:
        return None
    return Drift(what, row[points[0][0]][0], row[points[-1][0]][0], run)


def _share(what: str, pull: Pull, record: PullRecord, made: Outcome | None) -> Fraction | None:
    """Stretch or fall-back in per cent of the span, where the pull has one."""
    moved = record.fall_back if what == "fall-back" else None if made is None else made.moved
    return None if moved is None else percent(moved, pull.stretched)
