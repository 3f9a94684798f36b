"""What a plan asks of each pull, for the rooms that most are: a rectangle of two measured sides, no openings.

There every pull of a direction has the same span, and the heads stand as `core.layout` says: nothing has to be cast
across a floor. Only what facts rest on is worked out; where a head stands is not. tests/ledger hold it against
`core.plan.make_plan`.
"""

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from assistant.core.band import Figure, figure_for
from assistant.core.compass import Axis
from assistant.core.layout import Yielded, lay_out
from assistant.core.length import Length
from assistant.core.order import Direction, Order, Part
from assistant.core.state import State

_laid_out = lru_cache(maxsize=4096)(lay_out)


class Due(NamedTuple):
    """One pull as a plan asks for it."""

    number: int
    pass_number: int
    direction: Direction
    span: Length
    figure: Figure | None
    """What governs it; None = nobody gave one."""


def plain_dues(state: State, lay: Axis) -> tuple[Due, ...] | None:
    """The pulls of the plan that is made of `state` once the carpet's `lay` is told; None for any but a plain room."""
    room, order, construction = state.room, state.order, state.construction
    if room is None or state.corner is None or order is None or construction is None:
        return None
    plain = room.outline is None and room.right is None and room.far is None and not room.openings
    if not plain or any(rule.first_angle for rule in order.passes):
        return None
    size = {Axis.DOOR_TO_FAR: room.length, Axis.LEFT_TO_RIGHT: room.width}
    axes = {Direction.LENGTH: lay, Direction.CROSS: lay.other}
    across = {each: _across(size[axis.other], state) for each, axis in axes.items()}
    found: list[Due] = []
    passes = 0
    for direction, count in _counts(order, across):
        if count:
            passes += 1
            figure = figure_for(construction, state.maker.get(direction), state.patterns.get(direction, Fraction(0)))
            span = size[axes[direction]]
            found += [Due(len(found) + place, passes, direction, span, figure) for place in range(1, count + 1)]
    return tuple(found)


def _across(wall: Length, state: State) -> tuple[Length, ...]:
    """Head centres from the start corner's side; a wall too short for the head has none."""
    laid = _laid_out(wall, state.head)
    return () if laid.yielded is Yielded.HEAD_WIDER else laid.centres


def _counts(order: Order, across: dict[Direction, tuple[Length, ...]]) -> list[tuple[Direction, int]]:
    """How many pulls each pass of the order makes, as `core.plan` shares them out."""
    found, tied = [], dict[Direction, Length]()
    for rule in order.passes:
        line = across[rule.direction]
        if rule.part is Part.REST:
            done = tied.get(rule.direction)
            due = len(line) if done is None else sum(each > done for each in line)
        else:
            tied[rule.direction] = max(order.tie_off_run, min(line, default=order.tie_off_run))
            due = sum(each <= tied[rule.direction] for each in line)
        found.append((rule.direction, due))
    return found
