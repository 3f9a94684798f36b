"""Where heads stand: laws, and the feasible counts by brute force."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assistant.core.layout import HeadRule, Layout, Yielded, lay_out
from assistant.core.length import ZERO, Length, feet, inches, millimetres

RULE = HeadRule()
walls = st.integers(1, 19200).map(lambda marks: inches(Fraction(marks, 16))) | st.integers(1, 30480).map(millimetres)
sixteenths = st.integers(1, 640).map(lambda marks: inches(Fraction(marks, 16)))
rules = st.builds(
    lambda width, one, two: HeadRule(width, min(one, two), max(one, two)), sixteenths, sixteenths, sixteenths
)


def feasible(wall: Length, count: int, rule: HeadRule) -> bool:
    """Is there a gap inside the rule that leaves the corners between nothing and one gap?"""
    free = wall - rule.width * count
    if free < ZERO:
        return False
    lowest = max(rule.gap_least, free * Fraction(1, count + 1))
    highest = rule.gap_most if count == 1 else min(rule.gap_most, free * Fraction(1, count - 1))
    return lowest <= highest


def fewest(wall: Length, rule: HeadRule) -> int | None:
    """By trying every count."""
    most = int(wall.per(rule.width))
    return next((count for count in range(1, most + 1) if feasible(wall, count, rule)), None)


def check_inside(wall: Length, layout: Layout, rule: HeadRule) -> None:
    half = rule.width * Fraction(1, 2)
    assert layout.centres[0] - half == layout.corner >= ZERO
    assert layout.centres[-1] + half == wall - layout.corner
    for one, two in zip(layout.centres, layout.centres[1:], strict=False):
        assert two - one == rule.width + layout.gap
    assert all(one + two == wall for one, two in zip(layout.centres, reversed(layout.centres), strict=True))


@given(walls, st.just(RULE) | rules)
def test_fewest_heads_inside_the_rule(wall: Length, rule: HeadRule) -> None:
    assume(wall.per(rule.width) < 2000)
    layout, count = lay_out(wall, rule), fewest(wall, rule)
    assert lay_out(wall, rule) == layout
    if wall < rule.width:
        assert layout == Layout((wall * Fraction(1, 2),), ZERO, ZERO, Yielded.HEAD_WIDER)
        return
    check_inside(wall, layout, rule)
    if wall == rule.width:
        assert layout == Layout((wall * Fraction(1, 2),), ZERO, ZERO, Yielded.NONE)
        return
    assert (count is None) == (layout.yielded is not Yielded.NONE)
    if count is not None:
        assert len(layout.centres) == count
        assert rule.gap_least <= layout.gap <= rule.gap_most
        assert layout.corner <= layout.gap


@st.composite
def between_two_counts(draw: st.DrawFn) -> tuple[Length, HeadRule]:
    """A wall too long for `count` heads and too short for one more."""
    count, one, two, hole = draw(st.tuples(st.integers(1, 30), sixteenths, sixteenths, sixteenths))
    least, most = min(one, two), max(one, two)
    width = most * (count + 1) - least * count + hole
    share = draw(st.fractions(min_value=Fraction(1, 64), max_value=Fraction(63, 64), max_denominator=64))
    return width * count + most * (count + 1) + hole * share, HeadRule(width, least, most)


@given(between_two_counts())
def test_a_wall_between_two_counts_gets_the_smaller_violation(case: tuple[Length, HeadRule]) -> None:
    wall, rule = case
    assert fewest(wall, rule) is None
    layout = lay_out(wall, rule)
    count = len(layout.centres)
    if layout.yielded is Yielded.GAP_UNDER:
        violation = rule.gap_least - layout.gap
        wide = (wall - rule.width * (count - 1)) * Fraction(1, count)
        assert ZERO <= layout.gap < rule.gap_least
        assert layout.corner == ZERO
        assert violation <= wide - rule.gap_most
    else:
        violation = layout.gap - rule.gap_most
        tight = (wall - rule.width * (count + 1)) * Fraction(1, count)
        assert layout.yielded is Yielded.GAP_OVER
        assert violation > ZERO
        assert layout.corner == layout.gap
        assert tight < ZERO or rule.gap_least - tight > violation


def test_twelve_feet_of_wall_take_about_eight_pulls() -> None:
    """18 in per move: consumer guide [consumer]; 15 in head and 3 in gap make 18 in centres [derived]."""
    layout = lay_out(feet(12))
    assert len(layout.centres) == 8
    assert layout.centres[1] - layout.centres[0] == inches(18)


@pytest.mark.parametrize(
    ("wall", "count", "yielded"),
    [
        (inches(14), 1, Yielded.HEAD_WIDER),
        (inches(15), 1, Yielded.NONE),
        (inches(23), 1, Yielded.NONE),
        (inches("47/2"), 1, Yielded.GAP_OVER),
        (inches("63/2"), 2, Yielded.GAP_UNDER),
        (inches(33), 2, Yielded.NONE),
        (inches(42), 2, Yielded.NONE),
        (inches("389/2"), 10, Yielded.GAP_OVER),
    ],
)
def test_the_rule_that_gave_way_is_named(wall: Length, count: int, yielded: Yielded) -> None:
    layout = lay_out(wall)
    assert (len(layout.centres), layout.yielded) == (count, yielded)


def test_on_a_tie_heads_stand_closer() -> None:
    rule = HeadRule(inches(10), inches(2), inches(4))
    wall = inches("64/3")  # two heads leave 4/3 in: 2/3 under; one head leaves 17/3 in: 5/3 over
    assert lay_out(wall, rule).yielded is Yielded.GAP_UNDER
    tie = inches(Fraction(62, 3))  # two heads leave 2/3 in: 4/3 under; one head leaves 16/3 in: 4/3 over
    assert lay_out(tie, rule).yielded is Yielded.GAP_UNDER
    assert len(lay_out(tie, rule).centres) == 2
