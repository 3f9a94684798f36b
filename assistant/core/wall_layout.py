"""Heads along a wall of several stretches, moved off the places where a tail would stand badly."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import lcm

from assistant.core.dodge import Row, settle
from assistant.core.ground import Bar, good
from assistant.core.layout import HeadRule, Layout, Yielded, lay_out, lay_out_count
from assistant.core.length import ZERO, Length, System, tape

STEP = Fraction(1, 16)
"""Inches: heads are moved at least so finely; the tape shows no finer."""


class Remark(Enum):
    """What is to be known about one stretch of a wall."""

    TOO_SHORT = "too short for the head"
    GAP_OVER = "no even layout fits: gaps of {gap} beside the heads"
    GAP_UNDER = "no even layout fits: heads only {gap} apart"
    ONE_MORE = "one pull more than the fewest, so that every tail stands well"


@dataclass(frozen=True)
class Note:
    """A remark on the stretch it is about."""

    remark: Remark
    start: Length
    """Of the stretch, along the wall."""
    end: Length
    gap: Length = ZERO
    """The gap that broke the rule, where one did."""

    def words(self, system: System) -> str:
        """As a line: 'from 0 in to 1 ft 2 in: too short for the head'."""
        said = self.remark.value.format(gap=tape(self.gap, system))
        return f"from {tape(self.start, system)} to {tape(self.end, system)}: {said}"


@dataclass(frozen=True)
class Place:
    """Where one head stands."""

    centre: Length
    """Along the wall."""
    flag: str
    """Why its tail stands badly and no legal move helps; '' where it stands well."""
    moved: bool
    """Off its even place, so that no tail stands badly."""


@dataclass(frozen=True)
class WallLayout:
    """A wall's places in the order they are pulled: from the start corner on."""

    places: tuple[Place, ...]
    notes: tuple[Note, ...]
    gap: Length
    """The even gap of the stretch that breaks the rule worst, else of the first stretch with a pull."""
    yielded: Yielded


def lay_out_wall(
    strip: Sequence[tuple[Length, Length]],
    rule: HeadRule | None = None,
    bars: Sequence[Bar] = (),
    reversed: bool = False,  # noqa: A002  the design's word
) -> WallLayout:
    """Each stretch with strip by itself: fewest heads, every gap legal, nobody beyond a stretch's end.

    `strip` holds stretches (start, end) along the wall, from its beginning, apart from each other; `bars` are the
    places (inches) where a tail would stand badly; of bars that overlap the first is told. `reversed`: the start
    corner is at the wall's end, so places are listed from there. The mirrored wall, pulled from the mirrored corner,
    has the mirrored places. Where heads would stand on bars, a layout with as many heads that avoids them all is taken
    if there is one, then one with one head more; else the one with the fewest on bars, these flagged.
    """
    rule, laid = rule or HeadRule(), []
    for start, end in strip[::-1] if reversed else strip:
        frame = _Frame(end, -1, end - start) if reversed else _Frame(start, 1, end - start)
        laid.append(_lay(frame, rule, frame.own(bars)))
    done = [each for each in laid if each.places]
    broken = max(done, key=lambda each: each.broken_by(rule), default=None)
    return WallLayout(
        tuple(place for each in laid for place in each.places),
        tuple(note for each in laid for note in each.notes),
        broken.even.gap if broken else ZERO,
        broken.even.yielded if broken else Yielded.NONE,
    )


@dataclass(frozen=True)
class _Frame:
    """A stretch as seen from the end that lies nearer to the start corner."""

    origin: Length
    sense: int
    """1 where the wall runs away from the start corner, -1 where it runs towards it."""
    length: Length

    def along(self, at: Length) -> Length:
        """From the stretch's own places to the wall's."""
        return self.origin + at if self.sense > 0 else self.origin - at

    def own(self, bars: Sequence[Bar]) -> tuple[Bar, ...]:
        """Those that reach into the stretch, in its own places."""
        origin, whole = self.origin.inches, self.length.inches
        if self.sense > 0:
            seen = (Bar(each.low - origin, each.high - origin, each.why) for each in bars)
        else:
            seen = (Bar(origin - each.high, origin - each.low, each.why) for each in bars)
        return tuple(each for each in seen if each.high >= 0 and each.low <= whole)

    def note(self, remark: Remark, gap: Length = ZERO) -> Note:
        start, end = sorted((self.origin, self.along(self.length)))
        return Note(remark, start, end, gap)


@dataclass(frozen=True)
class _Laid:
    even: Layout
    places: tuple[Place, ...]
    notes: tuple[Note, ...]

    def broken_by(self, rule: HeadRule) -> Length:
        """How far the gap lies outside the rule."""
        if self.even.yielded is Yielded.NONE:
            return ZERO
        return max(rule.gap_least - self.even.gap, self.even.gap - rule.gap_most)


def _lay(frame: _Frame, rule: HeadRule, bars: Sequence[Bar]) -> _Laid:
    even = lay_out(frame.length, rule)
    if even.yielded is Yielded.HEAD_WIDER:
        return _Laid(even, (), (frame.note(Remark.TOO_SHORT),))
    if even.yielded is not Yielded.NONE:  # broken least this one way: no head could be moved without breaking more
        return _Laid(even, _places(frame, even, even.centres, bars), (frame.note(_BROKEN[even.yielded], even.gap),))
    if not any(_told(bars, each) for each in even.centres):
        return _Laid(even, _places(frame, even, even.centres, ()), ())
    return _dodge(frame, rule, bars, even)


_BROKEN = {Yielded.GAP_OVER: Remark.GAP_OVER, Yielded.GAP_UNDER: Remark.GAP_UNDER}


def _told(bars: Sequence[Bar], at: Length) -> str:
    """Why that place is barred; '' where it is not."""
    return next((each.why for each in bars if each.holds(at.inches)), "")


def _places(frame: _Frame, even: Layout, centres: Sequence[Length], bars: Sequence[Bar]) -> tuple[Place, ...]:
    pairs = zip(centres, even.centres, strict=True)
    return tuple(Place(frame.along(at), _told(bars, at), at != stay) for at, stay in pairs)


def _dodge(frame: _Frame, rule: HeadRule, bars: Sequence[Bar], even: Layout) -> _Laid:
    """As many heads on sound ground only, else one more, else the fewest on barred ground."""
    one_more = lay_out_count(frame.length, len(even.centres) + 1, rule)
    scale = _Scale.of(frame.length, rule, (even, one_more))
    half, corner = scale.whole(rule.width * Fraction(1, 2)), scale.whole(min(rule.gap_most, frame.length - rule.width))
    row = Row(
        half,
        scale.whole(frame.length) - half,
        corner,
        scale.whole(rule.width + rule.gap_least),
        scale.whole(rule.width + rule.gap_most),
    )
    sound = good(map(scale.bar, bars), (row.low, row.high))
    layout, (centres, spoiled) = even, settle(tuple(map(scale.whole, even.centres)), row, sound)
    if spoiled and one_more:
        more, still = settle(tuple(map(scale.whole, one_more.centres)), row, sound)
        layout, centres = (even, centres) if still else (one_more, more)
    places = _places(frame, layout, list(map(scale.length, centres)), bars)
    return _Laid(even, places, () if layout is even else (frame.note(Remark.ONE_MORE),))


@dataclass(frozen=True)
class _Scale:
    """Whole units so fine that every length in play is a whole number of them."""

    per_inch: int

    @classmethod
    def of(cls, length: Length, rule: HeadRule, layouts: Sequence[Layout | None]) -> "_Scale":
        known = [length, rule.width * Fraction(1, 2), rule.gap_least, rule.gap_most, Length(STEP)]
        known += [centre for each in layouts if each for centre in each.centres]
        return cls(lcm(*(each.inches.denominator for each in known)))

    def whole(self, length: Length) -> int:
        return int(length.inches * self.per_inch)

    def bar(self, bar: Bar) -> Bar:
        return Bar(bar.low * self.per_inch, bar.high * self.per_inch, bar.why)

    def length(self, units: int) -> Length:
        return Length(Fraction(units, self.per_inch))
