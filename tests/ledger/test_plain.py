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
from assistant.ledger.course import Course
from assistant.ledger.turns import Doubt, turns_of
from assistant.orders import read_order, shipped_orders
from assistant.record.codec import encode

Due = tuple[int, int, Direction, Length, Figure | None]
"""Number, pass, direction, span and figure of a pull."""
Events = tuple[ev.Event, ...]

STARTED = ev.Started("pullcall 1", "none", read_order())
_SHIPPED = [read_order(name) for name in shipped_orders()]
_STRAIGHT = [
    replace(each, passes=tuple(replace(rule, first_angle=Fraction(0)) for rule in each.passes)) for each in _SHIPPED
]
ORDERS = [*_SHIPPED, *_STRAIGHT]
SIXTEENTHS = st.integers(1, 16 * 12 * 60).map(lambda each: Length(Fraction(each, 16)))
TENTHS = st.fractions(Fraction(1, 10), 5, max_denominator=20)


def planned(events: Events, lay: Axis) -> tuple[Due, ...]:
    """What the core's own plan asks."""
    plan = fold([*events, ev.LayChosen(lay)]).plan
    assert plan is not None
    return tuple(
        (each.number, part.number, each.direction, each.span, plan.job.figures.of(each.direction))
        for part in plan.passes
        for each in part.pulls
    )


def in_parts(events: Events, lay: Axis) -> bool:
    """Whether a span is worked in parts: those are judged by the careful reading."""
    plan = fold([*events, ev.LayChosen(lay)]).plan
    assert plan is not None
    return any(each.parts > 1 for each in plan.pulls)


def asked(events: Events, lay: Axis) -> tuple[Due, ...]:
    """What the ledger counts, from the rows as they are stored; raises Doubt."""
    found: list[Due] = []
    for each in Course(turns_of(map(encode, (*events, ev.LayChosen(lay))))).shares:
        alike = (each.pass_number, each.direction, each.span, each.figure)
        found += [(len(found) + place, *alike) for place in range(1, each.pulls + 1)]
    return tuple(found)


def room(length: Length, width: Length, order: Order, *more: ev.Event, head: HeadRule | None = None) -> Events:
    started = replace(STARTED, order=order, head=head or HeadRule(), kit=Kit())
    sides = ev.SidesSet(length, width, System.IMPERIAL)
    chosen = ev.ConstructionChosen(Construction.TUFTED_SYNTHETIC)
    return (started, chosen, sides, *more, ev.CornerChosen(Corner.FAR_LEFT))


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
    events = room(
        length,
        width,
        replace(order, tie_off_run=inches(run)),
        ev.ConstructionChosen(construction),
        ev.FigureSet(Direction.CROSS, maker),
        ev.PatternSet(Direction.CROSS, pattern),
        ev.CornerChosen(corner),
        head=rule,
    )
    wanted = planned(events, lay)
    if wanted and not in_parts(events, lay) and not any(each.first_angle for each in order.passes):
        assert asked(events, lay) == wanted
    else:
        with pytest.raises(Doubt):
            asked(events, lay)


@pytest.mark.parametrize("kit", [None, Kit()])
def test_a_span_beyond_the_kit_is_left_to_the_plan(kit: Kit | None) -> None:
    """Its band is that of one part; without a kit nothing is beyond it."""
    started, *others = room(feet(40), feet(12), read_order())
    assert isinstance(started, ev.Started)
    events = (replace(started, kit=kit), *others)
    assert in_parts(events, Axis.DOOR_TO_FAR) is (kit is not None)
    if kit is None:
        assert asked(events, Axis.DOOR_TO_FAR) == planned(events, Axis.DOOR_TO_FAR)
    else:
        with pytest.raises(Doubt):
            asked(events, Axis.DOOR_TO_FAR)


def test_a_room_shorter_than_the_head_has_no_pulls_there() -> None:
    events = room(inches(10), feet(12), read_order())
    assert asked(events, Axis.DOOR_TO_FAR) == planned(events, Axis.DOOR_TO_FAR) != ()


def test_a_head_right_at_the_end_of_the_run_is_tied_off() -> None:
    third = lay_out(feet(14)).centres[2]
    events = room(feet(14), feet(12), replace(read_order(), tie_off_run=third))
    found = asked(events, Axis.DOOR_TO_FAR)
    assert found == planned(events, Axis.DOOR_TO_FAR)
    assert sum(number == 1 for _, number, *_ in found) == 3


DOORWAY = Opening(OpeningKind.DOORWAY, 1, feet(3), feet(5))


@pytest.mark.parametrize(
    "more",
    [
        ev.SecondSideSet(Wall.RIGHT, feet(14, 1), System.IMPERIAL),
        ev.SecondSideSet(Wall.FAR, feet(12, 1), System.IMPERIAL),
        ev.OpeningSet(DOORWAY, System.IMPERIAL, "left"),
        ev.OutlineBegun(),
        ev.SidesSet(feet(14), feet(101), System.IMPERIAL),
        ev.SidesSet(feet(14), inches("1/7"), System.IMPERIAL),
    ],
)
def test_any_other_room_is_left_to_the_plan(more: ev.Event) -> None:
    with pytest.raises(Doubt):
        asked(room(feet(14), feet(12), read_order(), more), Axis.DOOR_TO_FAR)


@pytest.mark.parametrize("left_out", [ev.SidesSet, ev.CornerChosen, ev.ConstructionChosen, ev.Started])
def test_without_a_room_there_is_no_plan(left_out: type) -> None:
    events = tuple(each for each in room(feet(14), feet(12), read_order()) if not isinstance(each, left_out))
    assert fold([*events, ev.LayChosen(Axis.DOOR_TO_FAR)]).plan is None
    with pytest.raises(Doubt):
        asked(events, Axis.DOOR_TO_FAR)


def test_an_order_that_a_scratch_would_take_away_is_doubted() -> None:
    started, *others = room(feet(14), feet(12), read_order())
    events = (ev.JobNamed("1"), started, ev.Scratched(), *others)
    assert fold([*events, ev.LayChosen(Axis.DOOR_TO_FAR)]).plan is None
    with pytest.raises(Doubt):
        asked(events, Axis.DOOR_TO_FAR)


@pytest.mark.parametrize(
    "head",
    [HeadRule(inches("1/2"), inches(3), inches(4)), HeadRule(inches(15), inches(4), inches(3))],
    ids=["narrow", "gaps the wrong way round"],
)
def test_a_head_that_is_none_is_left_to_the_plan(head: HeadRule) -> None:
    with pytest.raises(Doubt):
        asked(room(feet(14), feet(12), read_order(), head=head), Axis.DOOR_TO_FAR)


def test_a_diagonal_and_what_is_recorded_of_the_day_change_no_span() -> None:
    beside = (ev.DiagonalSet(feet(18, 6), System.IMPERIAL), ev.SquareSettled("measured"), ev.OpeningsSettled("skipped"))
    events = room(feet(14), feet(12), read_order(), *beside, ev.ConditionsSkipped(("strip",)))
    assert asked(events, Axis.LEFT_TO_RIGHT) == planned(events, Axis.LEFT_TO_RIGHT)


def test_the_set_up_is_doubted_confirmed_and_scratched_as_the_fold_does() -> None:
    sides = ev.SidesSet(feet(20), feet(9), System.IMPERIAL)
    talk = (ev.Proposed(sides, "doubt"), ev.Confirmed(), ev.Scratched(), ev.Proposed(sides, "doubt"), ev.Rejected())
    again = (ev.SideSet(Axis.LEFT_TO_RIGHT, feet(13), System.IMPERIAL), ev.JobNamed("9"))
    events = room(feet(14), feet(12), read_order(), *talk, *again)
    assert asked(events, Axis.LEFT_TO_RIGHT) == planned(events, Axis.LEFT_TO_RIGHT)
