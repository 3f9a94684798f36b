"""The pulls of a plain room as the ledger counts them, beside the plan that the core makes."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core.band import Construction, Figure
from assistant.core.floor import Opening, OpeningKind
from assistant.core.fold import fold
from assistant.core.kit import Kit
from assistant.core.layout import HeadRule, lay_out
from assistant.core.length import Length, System, feet, inches
from assistant.core.order import Direction, Order
from assistant.core.room import Axis, Corner, Wall
from assistant.core.state import State
from assistant.ledger.plain import Due, plain_dues
from assistant.orders import read_order, shipped_orders

STARTED = ev.Started("pullcall 1", "none", read_order())
_SHIPPED = [read_order(name) for name in shipped_orders()]
_STRAIGHT = [
    replace(each, passes=tuple(replace(rule, first_angle=Fraction(0)) for rule in each.passes)) for each in _SHIPPED
]
ORDERS = [*_SHIPPED, *_STRAIGHT]
SIXTEENTHS = st.integers(1, 16 * 12 * 60).map(lambda each: Length(Fraction(each, 16)))
TENTHS = st.fractions(Fraction(1, 10), 5, max_denominator=20)


def planned(state: State, lay: Axis) -> tuple[Due, ...]:
    """What the core's own plan asks."""
    plan = fold([ev.LayChosen(lay)], state).plan
    assert plan is not None
    return tuple(
        Due(each.number, part.number, each.direction, each.span, plan.job.figures.of(each.direction))
        for part in plan.passes
        for each in part.pulls
    )


def room(length: Length, width: Length, order: Order, *more: ev.Event, head: HeadRule | None = None) -> State:
    started = replace(STARTED, order=order, head=head or HeadRule(), kit=Kit())
    sides = ev.SidesSet(length, width, System.IMPERIAL)
    chosen = ev.ConstructionChosen(Construction.TUFTED_SYNTHETIC)
    return fold([started, chosen, sides, *more, ev.CornerChosen(Corner.FAR_LEFT)])


@given(
    SIXTEENTHS, SIXTEENTHS, st.sampled_from(ORDERS), st.sampled_from(list(Corner)), st.sampled_from(list(Axis)),
    st.sampled_from(list(Construction)), st.none() | st.builds(Figure, TENTHS, st.none() | TENTHS, st.just(True)),
    st.sampled_from([Fraction(0), Fraction(1, 4)]), st.integers(8, 20), st.integers(4 * 12, 16 * 12),
)  # fmt: skip
def test_it_is_the_plan(
    length: Length, width: Length, order: Order, corner: Corner, lay: Axis, construction: Construction,
    maker: Figure | None, pattern: Fraction, head: int, run: int,
) -> None:  # fmt: skip
    rule = HeadRule(inches(head), inches(3), inches(4))
    state = room(
        length,
        width,
        replace(order, tie_off_run=inches(run)),
        ev.ConstructionChosen(construction),
        ev.FigureSet(Direction.CROSS, maker),
        ev.PatternSet(Direction.CROSS, pattern),
        ev.CornerChosen(corner),
        head=rule,
    )
    found = plain_dues(state, lay)
    angled = any(each.first_angle for each in order.passes)
    assert found == (None if angled else planned(state, lay))


def test_a_room_shorter_than_the_head_has_no_pulls_there() -> None:
    state = room(inches(10), feet(12), read_order())
    assert plain_dues(state, Axis.DOOR_TO_FAR) == planned(state, Axis.DOOR_TO_FAR) != ()


def test_a_head_right_at_the_end_of_the_run_is_tied_off() -> None:
    third = lay_out(feet(14)).centres[2]
    state = room(feet(14), feet(12), replace(read_order(), tie_off_run=third))
    found = plain_dues(state, Axis.DOOR_TO_FAR)
    assert found is not None and found == planned(state, Axis.DOOR_TO_FAR)
    assert sum(each.pass_number == 1 for each in found) == 3


DOORWAY = Opening(OpeningKind.DOORWAY, 1, feet(3), feet(5))


@pytest.mark.parametrize(
    "more",
    [
        ev.SecondSideSet(Wall.RIGHT, feet(14, 1), System.IMPERIAL),
        ev.SecondSideSet(Wall.FAR, feet(12, 1), System.IMPERIAL),
        ev.OpeningSet(DOORWAY, System.IMPERIAL, "left"),
    ],
)
def test_any_other_room_is_left_to_the_plan(more: ev.Event) -> None:
    assert plain_dues(room(feet(14), feet(12), read_order(), more), Axis.DOOR_TO_FAR) is None


@pytest.mark.parametrize("left_out", ["sides", "corner", "construction", "order"])
def test_without_a_room_there_is_no_plan(left_out: str) -> None:
    state = replace(room(feet(14), feet(12), read_order()), **{left_out: {} if left_out == "sides" else None})
    assert plain_dues(state, Axis.DOOR_TO_FAR) is None
    assert fold([ev.LayChosen(Axis.DOOR_TO_FAR)], state).plan is None


def test_a_diagonal_changes_no_span() -> None:
    state = room(feet(14), feet(12), read_order(), ev.DiagonalSet(feet(18, 6), System.IMPERIAL))
    assert plain_dues(state, Axis.LEFT_TO_RIGHT) == planned(state, Axis.LEFT_TO_RIGHT)
