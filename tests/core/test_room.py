"""The room and its names: rectangle, out of square, outline."""

from dataclasses import replace
from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.chord import PLATE
from assistant.core.floor import FloorError, Opening, OpeningKind
from assistant.core.length import ZERO, Length, System, feet, inches, millimetres
from assistant.core.outline import Outline, Point, rectangle
from assistant.core.room import Axis, Corner, Room, Wall
from assistant.core.square import SquareError, squareness
from tests.core.floors import chord

IMPERIAL = System.IMPERIAL
LENGTH, WIDTH = Axis.DOOR_TO_FAR, Axis.LEFT_TO_RIGHT
PLAIN = Room(feet(16), feet(12), IMPERIAL)
sides = st.integers(24 * 16, 1200 * 16).map(lambda sixteenths: inches(Fraction(sixteenths, 16)))
near = st.integers(-32, 32).map(lambda sixteenths: inches(Fraction(sixteenths, 16)))


def test_diagonal_of_12_by_16_feet() -> None:
    """3-4-5 triangle [derived]: 240 in exactly."""
    assert PLAIN.square_diagonal == inches(240)


def test_diagonal_agrees_with_math() -> None:
    room = Room(feet(13), inches(101), IMPERIAL)
    assert float(room.square_diagonal.inches) == pytest.approx(sqrt(156**2 + 101**2), abs=1e-9)


def test_spans() -> None:
    assert (PLAIN.span(LENGTH), PLAIN.span(WIDTH)) == (feet(16), feet(12))
    assert (PLAIN.opposite(LENGTH), PLAIN.opposite(WIDTH)) == (feet(16), feet(12))


def test_a_span_lies_evenly_between_both_measured_sides() -> None:
    leaning, tapered = (
        Room(feet(16), feet(12), IMPERIAL, **each) for each in ({"right": feet(16, 3)}, {"far": feet(12, -2)})
    )
    along = [chord(leaning.floor, 4, feet(12 - at), LENGTH, PLATE).span for at in (0, 4, 12)]
    across = [chord(tapered.floor, 1, feet(at), WIDTH, PLATE).span for at in (0, 8, 16)]
    assert (along, across) == ([feet(16), feet(16, 1), feet(16, 3)], [feet(12), feet(12, -1), feet(12, -2)])


def test_the_floor_of_a_rectangle_has_left_far_right_and_door() -> None:
    floor = PLAIN.floor
    assert [floor.outline.facing(wall) for wall in (1, 2, 3, 4)] == [Wall.LEFT, Wall.FAR, Wall.RIGHT, Wall.DOOR]
    assert floor.outline == rectangle(feet(16), feet(12))


@pytest.mark.parametrize("room", [Room(feet(16), feet(12), IMPERIAL, right=feet(17)),
                                  Room(feet(16), feet(12), IMPERIAL, far=feet(13))])  # fmt: skip
def test_the_floor_out_of_square_keeps_every_measured_side(room: Room) -> None:
    outline = room.floor.outline
    assert (outline.length_of(1), outline.length_of(4)) == (feet(16), feet(12))
    assert (outline.extent(LENGTH), outline.extent(WIDTH)) == (room.opposite(LENGTH), room.opposite(WIDTH))
    assert [outline.facing(wall) for wall in (1, 2, 3, 4)] == [Wall.LEFT, Wall.FAR, Wall.RIGHT, Wall.DOOR]


def test_an_outline_is_its_own_floor() -> None:
    outline = rectangle(feet(10), feet(9))
    door = Opening(OpeningKind.DOORWAY, 4, feet(1), feet(4))
    room = Room(feet(10), feet(9), IMPERIAL, outline=outline, openings=(door,))
    assert (room.floor.outline, room.floor.openings) == (outline, (door,))


def test_openings_and_islands_are_checked_by_the_floor() -> None:
    with pytest.raises(FloorError, match="wall 1 runs from 0 in to 17 ft"):
        _ = Room(feet(16), feet(12), IMPERIAL, openings=(Opening(OpeningKind.DOORWAY, 1, ZERO, feet(17)),)).floor
    pillar = tuple(Point(Fraction(x), Fraction(y)) for x, y in ((20, 20), (20, 30), (30, 30)))
    assert Room(feet(16), feet(12), IMPERIAL, islands=(pillar,)).floor.islands == (pillar,)


# Out of square


def test_a_room_with_a_diagonal_of_240_is_square() -> None:
    found = Room(feet(16), feet(12), IMPERIAL, right=feet(16), far=feet(12), diagonal=inches(240)).squareness
    assert (found.off, found.eaten(LENGTH), found.eaten(WIDTH)) == (ZERO, ZERO, ZERO)
    assert (found.far_left, found.far_right) == (Point(Fraction(0), Fraction(192)), Point(Fraction(144), Fraction(192)))


def test_a_diagonal_places_both_far_corners() -> None:
    """A parallelogram of 5 by 12 [derived]: x = (D^2 + W^2 - R^2) / 2W; chosen so that every root is rational."""
    # The left wall, 13 long, leans 5 to the right over a height of 12; the door wall is 11: D^2 = 16^2 + 12^2 = 20^2.
    found = squareness(inches(13), inches(11), inches(13), inches(11), inches(20))
    assert (found.far_left, found.far_right) == (Point(Fraction(5), Fraction(12)), Point(Fraction(16), Fraction(12)))
    # Square it would stand at (0, 13): sqrt(5^2 + 1^2), rounded down.
    assert float(found.off.inches) == pytest.approx(sqrt(26), abs=1e-9)
    assert (found.eaten(LENGTH), found.eaten(WIDTH)) == (ZERO, inches(5))


def test_a_room_that_leans_left_eats_as_much() -> None:
    """The same room mirrored [derived]: door 11, far 11, x from -5 to 11; D^2 = 6^2 + 12^2."""
    found = squareness(
        inches(13), inches(11), inches(13), inches(11), inches(Fraction(sqrt(180)).limit_denominator(10**9))
    )
    assert float(found.far_left.x) == pytest.approx(-5, abs=1e-6)
    assert float(found.eaten(WIDTH).inches) == pytest.approx(5, abs=1e-6)


@pytest.mark.parametrize(
    ("right", "far", "off", "length", "width"),
    [
        (feet(16, 2), None, inches(2), inches(2), ZERO),
        (None, feet(12, 3), inches(3), ZERO, inches(3)),
        (feet(16, 3), feet(12, 4), inches(5), inches(3), inches(4)),
        (feet(16, -2), feet(12, -1), None, ZERO, ZERO),
    ],
)
def test_both_sides_without_a_diagonal(
    right: Length | None, far: Length | None, off: Length | None, length: Length, width: Length
) -> None:
    found = Room(feet(16), feet(12), IMPERIAL, right=right, far=far).squareness
    assert off is None or found.off == off
    assert (found.eaten(LENGTH), found.eaten(WIDTH)) == (length, width)


def test_what_is_eaten_is_told_to_the_next_mark_and_less_than_a_mark_is_not() -> None:
    found = Room(feet(16), feet(12), IMPERIAL, right=feet(16, "1/32"), far=feet(12, "65/32")).squareness
    assert (found.told(LENGTH, IMPERIAL), found.told(WIDTH, IMPERIAL)) == (ZERO, inches("33/16"))


def test_what_is_eaten_of_the_trim_allowance_is_a_caution_with_its_source() -> None:
    source = "CRI Carpet Installation Standard (2011) s.6"
    one, two = Room(feet(16), feet(12), IMPERIAL, right=feet(16, "5/4"), far=feet(12, 3)).cautions
    assert one.text == "out of square along the length: eats 1 1/4 in of the 3 in trim allowance; 1 3/4 in is left"
    assert two.text == "out of square along the width: eats 3 in of the 3 in trim allowance; it is not enough"
    assert {(each.about, each.source) for each in (one, two)} == {("square", source)}
    metric = Room(millimetres(4000), millimetres(3000), System.METRIC, right=millimetres(4020)).cautions
    assert metric[0].text == "out of square along the length: eats 20 mm of the 76.2 mm trim allowance; 56.2 mm is left"


def test_any_one_measurement_is_enough_for_a_caution() -> None:
    for room in (replace(PLAIN, right=feet(17)), replace(PLAIN, far=feet(13)), replace(PLAIN, diagonal=feet(21))):
        assert [each.about for each in room.cautions] == ["square"]


@pytest.mark.parametrize(
    "room",
    [
        PLAIN,
        Room(feet(16), feet(12), IMPERIAL, right=inches("3073/16") - inches("1/32")),
        Room(feet(16), feet(12), IMPERIAL, diagonal=feet(40)),
        Room(feet(16), feet(12), IMPERIAL, outline=rectangle(feet(16), feet(12))),
    ],
    ids=["not measured", "less than a mark", "cannot be", "outline"],
)
def test_no_caution_where_nothing_is_known_to_be_eaten(room: Room) -> None:
    assert room.cautions == ()


@pytest.mark.parametrize("diagonal", [feet(28), feet(4), feet(29)], ids=["flat", "folded", "too long"])
def test_sides_that_do_not_meet_are_refused(diagonal: Length) -> None:
    with pytest.raises(SquareError, match="do not meet"):
        _ = Room(feet(16), feet(12), IMPERIAL, diagonal=diagonal).squareness


@given(sides, sides, near, near, near)
def test_the_corners_keep_the_measured_lengths(
    length: Length, width: Length, more: Length, wider: Length, longer: Length
) -> None:
    """Law: measured over the corners that were found, every side and the diagonal is what was said, within 1e-6 in."""
    square = Room(length, width, IMPERIAL).square_diagonal
    room = Room(length, width, IMPERIAL, length + more, width + wider, square + longer)
    try:
        found = room.squareness
    except SquareError:
        return
    zero, door = Point(Fraction(0), Fraction(0)), Point(width.inches, Fraction(0))
    pairs = ((zero, found.far_left, room.length), (found.far_left, found.far_right, room.far),
             (found.far_right, door, room.right), (zero, found.far_right, room.diagonal))  # fmt: skip
    for one, two, said in pairs:
        assert said is not None
        assert sqrt((one.x - two.x) ** 2 + (one.y - two.y) ** 2) == pytest.approx(float(said.inches), abs=1e-6)


@given(sides, sides, near, near)
def test_every_floor_out_of_square_is_a_room_with_four_named_walls(
    length: Length, width: Length, more: Length, wider: Length
) -> None:
    outline: Outline = Room(length, width, IMPERIAL, length + more, width + wider).floor.outline
    assert [outline.facing(wall) for wall in (1, 2, 3, 4)] == [Wall.LEFT, Wall.FAR, Wall.RIGHT, Wall.DOOR]


# Names


def test_opposite_twice_is_the_wall_itself() -> None:
    assert Wall.DOOR.opposite is Wall.FAR
    assert Wall.LEFT.opposite is Wall.RIGHT
    assert all(each.opposite.opposite is each for each in Wall)


def test_the_other_axis() -> None:
    assert Axis.DOOR_TO_FAR.other is Axis.LEFT_TO_RIGHT
    assert Axis.LEFT_TO_RIGHT.other is Axis.DOOR_TO_FAR


@pytest.mark.parametrize(
    ("corner", "across", "beside"),
    [
        (Corner.DOOR_LEFT, Wall.DOOR, Wall.LEFT),
        (Corner.DOOR_RIGHT, Wall.DOOR, Wall.RIGHT),
        (Corner.FAR_LEFT, Wall.FAR, Wall.LEFT),
        (Corner.FAR_RIGHT, Wall.FAR, Wall.RIGHT),
    ],
)
def test_a_corner_has_a_wall_of_each_axis(corner: Corner, across: Wall, beside: Wall) -> None:
    assert corner.walls == {Axis.DOOR_TO_FAR: across, Axis.LEFT_TO_RIGHT: beside}
