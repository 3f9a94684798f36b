"""The outline: what it refuses and why, its walls, its area against shapely."""

from fractions import Fraction
from math import cos, hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as some
from shapely.geometry import Polygon

from assistant.core.bearing import heading, turned
from assistant.core.compass import Axis, Wall
from assistant.core.length import feet, inches
from assistant.core.outline import Outline, OutlineError, rectangle, root
from tests.core.floors import area, outlines, points

ELL = ((0, 0), (0, 144), (96, 144), (96, 84), (144, 84), (144, 0))


@pytest.mark.parametrize(
    ("why", "wall", "says", "corners"),
    [
        ("too_few_walls", None, "0 walls; a room has three", ()),
        ("too_few_walls", None, "2 walls; a room has three", ((0, 0), (0, 5))),
        ("zero_wall", 2, "wall 2 has no length", ((0, 0), (0, 9), (0, 9), (9, 0))),
        ("zero_wall", 4, "wall 4 has no length", ((0, 0), (0, 9), (9, 0), (0, 0))),
        ("spike", 2, "after wall 2 the walk doubles back", ((0, 0), (0, 9), (9, 9), (5, 9), (5, 0))),
        ("spike", 1, "less than 180 degrees", ((0, 0), (0, 9), (0, 4))),
        ("crosses_itself", 3, "wall 3 crosses wall 1", ((0, 0), (0, 9), (9, 5), (-5, 5), (-5, 0))),
        ("touches_itself", 3, "wall 3 touches wall 1", ((0, 0), (0, 9), (9, 5), (0, 5), (9, 0))),
        ("touches_itself", 4, "wall 4 touches wall 1", ((0, 0), (0, 9), (9, 9), (9, 5), (0, 5), (0, 2), (9, 0))),
        ("walked_backwards", None, "swap right and left", ((0, 0), (9, 0), (9, 9), (0, 9))),
    ],
)
def test_what_is_no_room_is_refused_by_name(
    why: str, wall: int | None, says: str, corners: tuple[tuple[int, int], ...]
) -> None:
    with pytest.raises(OutlineError) as told:
        Outline(points(*corners))
    assert (told.value.why, told.value.wall) == (why, wall)
    assert says in str(told.value)
    assert "\n" not in str(told.value)


def test_a_crossing_is_named_before_a_touch_and_the_first_of_two() -> None:
    with pytest.raises(OutlineError, match="wall 3 crosses wall 1"):
        Outline(points((0, 0), (0, 20), (20, 10), (-5, 10), (-5, 5), (9, 5), (9, 0)))


def test_an_ell() -> None:
    """Hand-worked: 12 ft by 12 ft less 4 ft by 5 ft is 124 sq ft."""
    room = Outline(points(*ELL))
    assert room.walls == 6
    assert area(room) == 124 * 144
    assert [room.length_of(wall).inches for wall in range(1, 7)] == [144, 96, 60, 48, 84, 144]
    sides = [room.facing(wall) for wall in range(1, 7)]
    assert sides == [Wall.LEFT, Wall.FAR, Wall.RIGHT, Wall.FAR, Wall.RIGHT, Wall.DOOR]
    assert [room.bend(wall) for wall in range(1, 7)] == [1, 1, -1, 1, 1, 1]


def test_a_straight_joint_is_no_fault() -> None:
    assert Outline(points((0, 0), (0, 4), (0, 9), (9, 9))).bend(1) == 0


def test_a_wall_at_45_degrees_faces_the_far_or_the_door_wall() -> None:
    diamond = Outline(points((0, 0), (-9, 9), (0, 18), (9, 9)))
    assert [diamond.facing(wall) for wall in range(1, 5)] == [Wall.DOOR, Wall.FAR, Wall.FAR, Wall.DOOR]


def test_a_rectangle() -> None:
    room = rectangle(feet(16), feet(12))
    assert (room.extent(Axis.DOOR_TO_FAR), room.extent(Axis.LEFT_TO_RIGHT)) == (feet(16), feet(12))
    assert [room.facing(wall) for wall in range(1, 5)] == [Wall.LEFT, Wall.FAR, Wall.RIGHT, Wall.DOOR]
    assert room.length_of(4) == feet(12)


def test_an_oblique_wall_has_an_exact_length_where_the_root_is_rational() -> None:
    """3-4-5 (checks.md, DER)."""
    assert Outline(points((0, 0), (144, 192), (144, 0))).length_of(1) == inches(240)
    assert 0 < root(Fraction(2)) < root(Fraction(2)) + Fraction(1, 10**9)
    assert root(Fraction(2)) ** 2 < 2 < (root(Fraction(2)) + Fraction(1, 10**9)) ** 2


@given(outlines())
def test_area_and_lengths_are_shapelys(room: Outline) -> None:
    """shapely 2: an independent geometry engine in floats."""
    shape = Polygon([(float(each.x), float(each.y)) for each in room.corners])
    assert shape.is_valid
    assert float(area(room)) == pytest.approx(shape.area, rel=1e-9)
    around = sum(room.length_of(wall).inches for wall in range(1, room.walls + 1))
    assert float(around) == pytest.approx(shape.length, rel=1e-9)


@given(some.fractions(-1000, 1000))
def test_a_heading_lies_on_the_circle_within_1e_12_of_its_angle(degrees: Fraction) -> None:
    x, y = heading(degrees)
    assert x**2 + y**2 == 1
    angle = radians(float(degrees % 360))
    assert hypot(float(x) - sin(angle), float(y) - cos(angle)) < 1e-12


@given(some.integers(-20, 20))
def test_quarter_turns_are_exact(quarters: int) -> None:
    assert heading(Fraction(90 * quarters)) == [(0, 1), (1, 0), (0, -1), (-1, 0)][quarters % 4]


@given(some.fractions(-360, 360), some.fractions(-360, 360))
def test_turning_a_heading_adds_the_angles(one: Fraction, other: Fraction) -> None:
    x, y = turned(heading(one), other)
    there = heading(one + other)
    assert x**2 + y**2 == 1
    assert hypot(float(x - there[0]), float(y - there[1])) < 3e-12
