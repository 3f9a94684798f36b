"""The rectangle and its names."""

from math import sqrt

import pytest

from assistant.core.length import System, feet, inches
from assistant.core.room import Axis, Corner, Room, Wall


def test_diagonal_of_12_by_16_feet() -> None:
    """3-4-5 triangle [derived]: 240 in exactly."""
    assert Room(feet(16), feet(12), System.IMPERIAL).diagonal_in == 240


def test_diagonal_agrees_with_math() -> None:
    assert Room(feet(13), inches(101), System.IMPERIAL).diagonal_in == pytest.approx(sqrt(156**2 + 101**2))


def test_spans() -> None:
    room = Room(feet(16), feet(12), System.IMPERIAL)
    assert (room.span(Axis.DOOR_TO_FAR), room.span(Axis.LEFT_TO_RIGHT)) == (feet(16), feet(12))


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
