"""What a plan asks of each pull, for the rooms that most are: a rectangle of two measured sides, no openings.

There every pull of a direction has the same span, and the heads stand as `core.layout` says: nothing has to be cast
across a floor. Only what facts rest on is worked out; where a head stands is not. tests/ledger hold it against
`core.plan.make_plan`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from assistant.core.band import Figure
from assistant.core.compass import Axis
from assistant.core.layout import HeadRule, Yielded, lay_out
from assistant.core.length import Length
from assistant.core.order import Direction, Order, Part

_CACHED = 16_384
"""Walls kept: as many sixteenths of an inch as a hundred feet have, and most walls are far shorter."""


@dataclass(frozen=True, eq=False)
class Rules:
    """The order and the head of a job's first session; the same only as the same object, which is quick to look up."""

    order: Order
    head: HeadRule


@lru_cache(maxsize=_CACHED)
def rules_of(order: Order, head: HeadRule) -> Rules:
    """The same object for the same order and head, whoever told them."""
    return Rules(order, head)


class Share(NamedTuple):
    """The pulls that one pass makes: alike in all that is asked of them."""

    pass_number: int
    direction: Direction
    pulls: int
    """How many."""
    span: Length
    figure: Figure | None
    """What governs them; None = nobody gave one."""


def shares_of(
    rules: Rules, sides: Mapping[Axis, Length], lay: Axis, figures: Mapping[Direction, Figure | None]
) -> tuple[Share, ...]:
    """What the plan of a plain room asks, pass by pass; its order pulls at no angle. A pass without pulls is none."""
    axes = {Direction.LENGTH: lay, Direction.CROSS: lay.other}
    counts = {each: iter(_counts(rules, each, sides[axis.other])) for each, axis in axes.items()}
    found: list[Share] = []
    for rule in rules.order.passes:
        count, way = next(counts[rule.direction]), rule.direction
        if count:
            found.append(Share(len(found) + 1, way, count, sides[axes[way]], figures[way]))
    return tuple(found)


def _counts(rules: Rules, direction: Direction, wall: Length) -> tuple[int, ...]:
    # A fraction's own hash takes a power of a large number; its parts tell it as well.
    return _counted(rules, direction, wall.inches.numerator, wall.inches.denominator)


@lru_cache(maxsize=_CACHED)
def _counted(rules: Rules, direction: Direction, *wall: int) -> tuple[int, ...]:
    """How many pulls each pass of this direction makes along the wall, as `core.plan` shares them out."""
    line, run = _across(rules, *wall), rules.order.tie_off_run.inches
    tied: Fraction | None = None
    found = []
    for rule in rules.order.passes:
        if rule.direction is not direction:
            continue
        if rule.part is Part.REST:
            found.append(len(line) if tied is None else sum(each > tied for each in line))
        else:
            tied = max(run, line[0]) if line else run
            found.append(sum(each <= tied for each in line))
    return tuple(found)


@lru_cache(maxsize=_CACHED)
def _across(rules: Rules, *wall: int) -> tuple[Fraction, ...]:
    """Head centres in inches from the start corner's side, whichever way; a wall too short for the head has none."""
    laid = lay_out(Length(Fraction(*wall)), rules.head)
    return () if laid.yielded is Yielded.HEAD_WIDER else tuple(each.inches for each in laid.centres)
