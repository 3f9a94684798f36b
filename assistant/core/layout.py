"""Where the heads stand along a wall."""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import accumulate
from math import ceil

from assistant.core import trade
from assistant.core.length import ZERO, Length


class Yielded(Enum):
    """A rule that gave way because the wall allows no other layout."""

    NONE = "none"
    GAP_OVER = "gap over the most"
    GAP_UNDER = "gap under the least"
    HEAD_WIDER = "head wider than the wall"


@dataclass(frozen=True)
class HeadRule:
    """The head and how close its neighbours stand."""

    width: Length = Length(trade.HEAD_WIDTH.value)
    gap_least: Length = Length(trade.GAP_LEAST.value)
    gap_most: Length = Length(trade.GAP_MOST.value)


@dataclass(frozen=True)
class Layout:
    """Equal gaps, mirror-symmetric."""

    centres: tuple[Length, ...]
    """Head centres from the start corner."""
    gap: Length
    """Between neighbouring heads."""
    corner: Length
    """From the first head to its corner, and from the last to the other one."""
    yielded: Yielded


def lay_out(wall: Length, rule: HeadRule | None = None) -> Layout:
    """Fewest heads such that gaps lie in the rule and the outer heads stand within one gap of their corners.

    A head count n covers walls from n w + (n-1) gap_least to n w + (n+1) gap_most. A wall between two such ranges gets
    the count with the smaller violation, the larger count on a tie (closer pulls do no harm).
    """
    rule = rule or HeadRule()
    if wall <= rule.width:
        # One head is all that fits, and it may not fit: it stands in the middle.
        yielded = Yielded.NONE if wall == rule.width else Yielded.HEAD_WIDER
        return Layout((wall * Fraction(1, 2),), ZERO, ZERO, yielded)
    count = max(1, ceil((wall - rule.gap_most).per(rule.width + rule.gap_most)))
    return lay_out_count(wall, count, rule) or _nearest(wall, count, rule)


def lay_out_count(wall: Length, count: int, rule: HeadRule) -> Layout | None:
    """The even layout of `count` heads, at least the fewest; None where they are too many for legal gaps."""
    if _least_wall(count, rule) > wall:
        return None
    gap = (wall - rule.width * count) * Fraction(1, count + 1)
    return _place(wall, count, max(gap, rule.gap_least), rule, Yielded.NONE)


def _least_wall(count: int, rule: HeadRule) -> Length:
    return rule.width * count + rule.gap_least * (count - 1)


def _nearest(wall: Length, count: int, rule: HeadRule) -> Layout:
    tight = (wall - rule.width * count) * Fraction(1, count - 1)
    wide = (wall - rule.width * (count - 1)) * Fraction(1, count)
    if tight >= ZERO and rule.gap_least - tight <= wide - rule.gap_most:
        return _place(wall, count, tight, rule, Yielded.GAP_UNDER)
    return _place(wall, count - 1, wide, rule, Yielded.GAP_OVER)


def _place(wall: Length, count: int, gap: Length, rule: HeadRule, yielded: Yielded) -> Layout:
    corner = (wall - rule.width * count - gap * (count - 1)) * Fraction(1, 2)
    first, pitch = corner + rule.width * Fraction(1, 2), rule.width + gap
    centres = tuple(accumulate([pitch] * (count - 1), initial=first))
    return Layout(centres, gap, corner, yielded)
