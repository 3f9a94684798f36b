"""Heads along a wall of several stretches, moved off the places where a tail would stand badly."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import lcm

from assistant.core.dodge import Row, settle
from assistant.core.ground import Ground
from assistant.core.layout import HeadRule, Layout, Yielded, lay_out, lay_out_count
from assistant.core.length import ZERO, Length, System, tape

Barred = Callable[[Length], str]
"""'' for a centre whose pull is sound, else why its tail stands badly: 'doorway', 'hearth', 'reflex'."""

SAMPLE = Fraction(1, 2)
"""Inches: so far apart a wall is looked at for barred places; positions are called out no finer."""
EDGE = Fraction(1, 16)
"""Inches: so finely the edge of a barred place is found; the tape shows no finer."""


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
    barred: Barred | None = None,
    reversed: bool = False,  # noqa: A002  the design's word
) -> WallLayout:
    """Each stretch with strip by itself: fewest heads, every gap legal, nobody beyond a stretch's end.

    `strip` holds stretches (start, end) along the wall, from its beginning, apart from each other. `reversed`: the
    start corner is at the wall's end, so places are listed from there. The mirrored wall, pulled from the mirrored
    corner, has the mirrored places. Where heads would stand on barred places, a layout with as many heads that avoids
    them all is taken if there is one, then one with one head more; else the one with the fewest on barred places, these
    flagged.
    """
    rule, laid = rule or HeadRule(), []
    for start, end in strip[::-1] if reversed else strip:
        frame = _Frame(end, -1, end - start) if reversed else _Frame(start, 1, end - start)
        laid.append(_lay(frame, rule, barred or _never))
    done = [each for each in laid if each.places]
    broken = max(done, key=lambda each: each.broken_by(rule), default=None)
    return WallLayout(
        tuple(place for each in laid for place in each.places),
        tuple(note for each in laid for note in each.notes),
        broken.even.gap if broken else ZERO,
        broken.even.yielded if broken else Yielded.NONE,
    )


def _never(_: Length) -> str:
    return ""


@dataclass(frozen=True)
class _Frame:
    """A stretch as seen from the end that lies nearer to the start corner."""

    origin: Length
    sense: int
    """1 where the wall runs away from the start corner, -1 where it runs towards it."""
    length: Length

    def along(self, at: Length) -> Length:
        """From the stretch's own places to the wall's."""
        return self.origin + at * self.sense

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


def _lay(frame: _Frame, rule: HeadRule, barred: Barred) -> _Laid:
    even = lay_out(frame.length, rule)
    if even.yielded is Yielded.HEAD_WIDER:
        return _Laid(even, (), (frame.note(Remark.TOO_SHORT),))
    if even.yielded is not Yielded.NONE:  # broken least this one way: no head could be moved without breaking more
        return _Laid(even, _places(frame, even, even.centres, barred), (frame.note(_BROKEN[even.yielded], even.gap),))
    bad = sum(bool(barred(frame.along(each))) for each in even.centres)
    if not bad:
        return _Laid(even, _places(frame, even, even.centres, _never), ())
    return _dodge(frame, rule, barred, even, bad)


_BROKEN = {Yielded.GAP_OVER: Remark.GAP_OVER, Yielded.GAP_UNDER: Remark.GAP_UNDER}


def _places(frame: _Frame, even: Layout, centres: Sequence[Length], barred: Barred) -> tuple[Place, ...]:
    along = [frame.along(each) for each in centres]
    stays = [one == two for one, two in zip(centres, even.centres, strict=True)]
    return tuple(Place(at, barred(at), not stay) for at, stay in zip(along, stays, strict=True))


def _dodge(frame: _Frame, rule: HeadRule, barred: Barred, even: Layout, bad: int) -> _Laid:
    """As many heads on sound ground only, else one more, else the fewest on barred ground; `even` has `bad` there."""
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
    ground = Ground(
        (row.low, row.high),
        scale.whole(Length(SAMPLE)),
        scale.whole(Length(EDGE)),
        lambda at: bool(barred(frame.along(scale.length(at)))),
    )
    tries = [(even, 0), *([(one_more, 0)] if one_more else []), *((even, budget) for budget in range(1, bad + 1))]
    # The even layout itself has no more than `bad` heads on barred ground, so the last try finds it if no other did.
    found = ((each, settle(tuple(map(scale.whole, each.centres)), row, ground, budget)) for each, budget in tries)
    layout, centres = next((each, at) for each, at in found if at is not None)
    places = _places(frame, layout, list(map(scale.length, centres)), barred)
    return _Laid(even, places, (frame.note(Remark.ONE_MORE),) if layout is one_more else ())


@dataclass(frozen=True)
class _Scale:
    """Whole units so fine that every length in play is a whole number of them."""

    per_inch: int

    @classmethod
    def of(cls, length: Length, rule: HeadRule, layouts: Sequence[Layout | None]) -> "_Scale":
        known = [length, rule.width * Fraction(1, 2), rule.gap_least, rule.gap_most, Length(SAMPLE), Length(EDGE)]
        known += [centre for each in layouts if each for centre in each.centres]
        return cls(lcm(*(each.inches.denominator for each in known)))

    def whole(self, length: Length) -> int:
        return int(length.inches * self.per_inch)

    def length(self, units: int) -> Length:
        return Length(Fraction(units, self.per_inch))
