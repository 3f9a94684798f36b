"""Figures that cannot be are refused, doubtful ones need an explicit yes."""

from fractions import Fraction

import pytest

from assistant.core import plausible
from assistant.core.band import DEFAULT_FIGURE, Figure, band
from assistant.core.length import Length, System, feet, inches
from assistant.core.meaning import Quantity
from assistant.core.order import Direction
from assistant.core.outline import Point
from assistant.core.plan import Pull
from assistant.core.plausible import Doubt
from assistant.core.record import PullRecord, Reading
from assistant.core.room import Axis, Wall

IMPERIAL, METRIC = System.IMPERIAL, System.METRIC


def quantity(value: str, unit: str = "in") -> Quantity:
    return Quantity(Fraction(value), unit)


def pull(figure: Figure | None = DEFAULT_FIGURE, span: Length = feet(16)) -> Pull:
    limits = None if figure is None else band(span, figure, IMPERIAL)
    head, tail = Point(span.inches, Fraction(9)), Point(Fraction(0), Fraction(9))
    return Pull(1, Direction.CROSS, Axis.LEFT_TO_RIGHT, Wall.RIGHT, 3, inches(9), inches(9), span, limits, head, tail)


def reading(value: str, figure: Figure | None = DEFAULT_FIGURE, record: PullRecord | None = None) -> Doubt | None:
    return plausible.reading(quantity(value), IMPERIAL, pull(figure), record or PullRecord())


@pytest.mark.parametrize(
    ("value", "unit", "system", "why"),
    [
        pytest.param("16", "in", None, "side_too_short", id="a 16 in room"),
        pytest.param("383/16", "in", None, "side_too_short", id="just under 2 ft"),
        pytest.param("24", "in", None, None, id="2 ft"),
        pytest.param("1200", "in", None, None, id="100 ft"),
        pytest.param("1201", "in", None, "side_too_long", id="over 100 ft"),
        pytest.param("3000", "mm", IMPERIAL, "mixed_units_in_feet", id="metres after feet"),
        pytest.param("120", "in", METRIC, "mixed_units_in_metres", id="feet after metres"),
        pytest.param("3000", "mm", METRIC, None, id="metres after metres"),
    ],
)
def test_sides(value: str, unit: str, system: System | None, why: str | None) -> None:
    said = quantity(value, unit)
    expected = None if why is None else Doubt(why, refused=True)
    assert plausible.side(Length.of(said), said, system) == expected


def test_six_inches_on_sixteen_feet_is_doubted() -> None:
    assert reading("6") == Doubt("doubt_large", refused=False)


@pytest.mark.parametrize(
    ("least", "most", "stands", "doubted"),
    [
        pytest.param("1", "3/2", "384/100", "385/100", id="2 % of the span"),
        pytest.param("2", "3", "768/100", "769/100", id="4/3 of the maker's most"),
        pytest.param("3", None, "768/100", "769/100", id="4/3 of the maker's least"),
        pytest.param("1/2", None, "384/100", "385/100", id="never below 2 %"),
    ],
)
def test_a_maker_may_ask_for_more(least: str, most: str | None, stands: str, doubted: str) -> None:
    figure = Figure(Fraction(least), None if most is None else Fraction(most), from_maker=True)
    assert reading(stands, figure) is None
    assert reading(doubted, figure) == Doubt("doubt_large", refused=False)


def test_without_a_figure_two_per_cent_is_the_usual_share() -> None:
    assert reading("384/100", None) is None
    assert reading("385/100", None) == Doubt("doubt_large", refused=False)


def test_smaller_than_before_is_doubted_unless_it_slipped() -> None:
    before = (Reading(inches(2)),)
    assert reading("1", record=PullRecord(readings=before)) == Doubt("doubt_smaller", refused=False)
    assert reading("2", record=PullRecord(readings=before)) is None
    assert reading("1", record=PullRecord(readings=before, slipped=True)) is None


def test_a_reading_keeps_to_the_rooms_tape() -> None:
    found = plausible.reading(quantity("38", "mm"), IMPERIAL, pull(), PullRecord())
    assert found == Doubt("mixed_units_in_inches", refused=True)


def test_hold() -> None:
    record = PullRecord(readings=(Reading(inches(2)),))
    assert plausible.hold(quantity("2"), IMPERIAL, record) is None
    assert plausible.hold(quantity("33/16"), IMPERIAL, record) == Doubt("doubt_hold", refused=False)
    assert plausible.hold(quantity("33/16"), IMPERIAL, PullRecord()) is None
    assert plausible.hold(quantity("1"), IMPERIAL, record) is None
    assert plausible.hold(quantity("15/16"), IMPERIAL, record) == Doubt("doubt_hold_lost", refused=False)
    assert plausible.hold(quantity("50", "mm"), IMPERIAL, record) == Doubt("mixed_units_in_inches", refused=True)


def test_head() -> None:
    assert plausible.head(quantity("12"), IMPERIAL) is None
    assert plausible.head(quantity("193/16"), IMPERIAL) == Doubt("head_impossible", refused=True)
    assert plausible.head(quantity("2"), METRIC) == Doubt("mixed_units_in_millimetres", refused=True)
    assert plausible.head(quantity("50", "mm"), IMPERIAL) == Doubt("mixed_units_in_inches", refused=True)


@pytest.mark.parametrize(
    ("least", "most", "points", "why"),
    [("1", "2", "0", None), ("1", "1", "0", None), ("1", None, "0", None), ("10", "10", "0", None),
     ("2", "1", "0", "figure_reversed"), ("0", "1", "0", "figure_of_nothing"), ("1", "11", "0", "figure_too_large"),
     ("11", None, "0", "figure_too_large"), ("1", "9", "1", None), ("1", "9", "17/16", "figure_too_large"),
     ("11", "1", "0", "figure_reversed")],
)  # fmt: skip
def test_makers_figure(least: str, most: str | None, points: str, why: str | None) -> None:
    found = plausible.figure(Fraction(least), None if most is None else Fraction(most), Fraction(points))
    assert found == (None if why is None else Doubt(why, refused=True))


@pytest.mark.parametrize(
    ("points", "why"),
    [("0", "pattern_of_nothing"), ("1/16", None), ("5", None), ("81/16", "pattern_too_large")],
)
def test_pattern(points: str, why: str | None) -> None:
    assert plausible.pattern(Fraction(points)) == (None if why is None else Doubt(why, refused=True))


@pytest.mark.parametrize(
    ("kind", "value", "unit", "stands"),
    [("temperature", "130", "F", True), ("temperature", "131", "F", False), ("temperature", "-20", "F", True),
     ("temperature", "-21", "F", False), ("temperature", "54", "C", True), ("temperature", "55", "C", False),
     ("humidity", "100", "pct", True), ("humidity", "101", "pct", False), ("unrolled", "999", "h", True),
     ("cushion", "2", "in", True), ("cushion", "33/16", "in", False), ("cushion", "50", "mm", True),
     ("cushion", "51", "mm", False), ("gully", "2", "in", True), ("gully", "51", "mm", False),
     ("slab_humidity", "100", "pct", True), ("slab_humidity", "101", "pct", False), ("slab_ph", "14", "pH", True),
     ("slab_ph", "14.01", "pH", False), ("slab_ph", "-1", "pH", False)],
)  # fmt: skip
def test_conditions(kind: str, value: str, unit: str, stands: bool) -> None:
    found = plausible.condition(kind, quantity(value, unit))
    assert found == (None if stands else Doubt(f"{kind}_impossible", refused=True))
