"""Openings and islands: what is refused, what strip is left, how much carpet."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as some

from assistant.core.floor import Floor, FloorError, Opening, OpeningKind
from assistant.core.length import Length, feet, inches
from assistant.core.outline import Outline, rectangle
from tests.core.floors import points

ROOM = rectangle(feet(16), feet(12))
NARROW = Outline(points((0, 0), (40, 100), (80, 0)))
ELL = Outline(points((0, 0), (0, 144), (96, 144), (96, 84), (144, 84), (144, 0)))
ISLAND = points((40, 40), (40, 60), (60, 60), (60, 40))


def doorway(wall: int, start: int, end: int) -> Opening:
    return Opening(OpeningKind.DOORWAY, wall, inches(start), inches(end))


def hearth(wall: int, start: int, end: int, depth: int = 18) -> Opening:
    return Opening(OpeningKind.HEARTH, wall, inches(start), inches(end), inches(depth))


@pytest.mark.parametrize(
    ("why", "wall", "says", "openings"),
    [
        ("no_wall", 5, "walls 1 to 4", [doorway(5, 1, 2)]),
        ("no_wall", 0, "doorway stands in wall 0", [doorway(0, 1, 2)]),
        ("empty_opening", 2, "doorway in wall 2 has no width", [doorway(2, 9, 9)]),
        ("empty_opening", 2, "end must lie beyond its start", [hearth(2, 9, 4)]),
        (
            "beyond_wall",
            2,
            "runs from 8 ft 4 in to 12 ft 1 in; it must lie within the wall, which is 12 ft long",
            [doorway(2, 100, 145)],
        ),
        ("beyond_wall", 1, "hearth in wall 1 runs from -1", [hearth(1, -1, 9)]),
        ("no_depth", 1, "has no depth", [hearth(1, 1, 9, 0)]),
        (
            "overlapping",
            4,
            "the doorway ending at 3 ft 4 in and the hearth beginning at 3 ft 3 in",
            [hearth(4, 39, 60), doorway(4, 10, 40)],
        ),
        ("too_deep", 2, "16 ft 1 in deep, runs into another wall", [hearth(2, 10, 40, 193)]),
        ("hearths_meet", 2, "hearths in wall 1 and wall 2 overlap", [hearth(1, 150, 192, 30), hearth(2, 0, 50, 30)]),
    ],
)
def test_openings_that_cannot_be_are_refused_by_name(why: str, wall: int, says: str, openings: list[Opening]) -> None:
    with pytest.raises(FloorError) as told:
        Floor(ROOM, tuple(openings))
    assert (told.value.why, told.value.wall, told.value.island) == (why, wall, None)
    assert says in str(told.value)
    assert "\n" not in str(told.value)


def test_a_hearth_may_reach_the_wall_across_but_not_through_it() -> None:
    assert Floor(ROOM, (hearth(2, 10, 40, 192),)).hearths
    assert Floor(ROOM, (hearth(2, 0, 144, 18),)).hearths
    with pytest.raises(FloorError, match="hearth in wall 3, 1 ft 8 in deep"):
        Floor(NARROW, (hearth(3, 0, 30, 20),))
    assert Floor(ELL, (hearth(6, 0, 30, 84),)).hearths
    with pytest.raises(FloorError, match="hearth in wall 6, 7 ft 1 in deep"):
        Floor(ELL, (hearth(6, 0, 30, 85),))


@pytest.mark.parametrize(
    ("why", "wall", "island", "says", "islands"),
    [
        ("island_shape", None, 1, "it has 2 corners", [points((1, 1), (2, 2))]),
        ("island_shape", None, 1, "two corners are the same", [points((9, 9), (9, 9), (20, 9))]),
        ("island_shape", None, 2, "its sides meet", [ISLAND, points((9, 9), (20, 20), (20, 9), (9, 20))]),
        ("island_shape", None, 1, "its sides meet", [points((9, 9), (30, 9), (20, 9))]),
        ("island_meets_wall", 1, 1, "stand free", [points((-5, 9), (9, 20), (9, 9))]),
        ("island_meets_wall", 4, 1, "meets wall 4", [points((9, 0), (20, 20), (20, 9))]),
        ("island_outside", None, 1, "outside the room", [points((200, 9), (220, 20), (220, 9))]),
        ("island_outside", None, 1, "inside the walls", [points((-9, -9), (-9, 300), (300, 300), (300, -9))]),
        ("island_meets_hearth", 1, 1, "the hearth in wall 1", [points((15, 110), (25, 110), (25, 115))]),
        ("island_meets_hearth", 1, 1, "the hearth in wall 1", [points((5, 110), (9, 110), (9, 115))]),
        ("islands_meet", None, 2, "meets island 1", [ISLAND, points((50, 50), (80, 50), (80, 70))]),
        ("islands_meet", None, 2, "give them as one", [ISLAND, points((45, 45), (50, 45), (50, 50))]),
        ("islands_meet", None, 2, "island 2", [ISLAND, points((30, 30), (30, 70), (70, 70), (70, 30))]),
    ],
)
def test_islands_that_cannot_be_are_refused_by_name(
    why: str, wall: int | None, island: int, says: str, islands: list[tuple[object, ...]]
) -> None:
    with pytest.raises(FloorError) as told:
        Floor(ROOM, (hearth(1, 100, 130),), tuple(islands))  # type: ignore[arg-type]
    assert (told.value.why, told.value.wall, told.value.island) == (why, wall, island)
    assert says in str(told.value)


def test_strip_is_what_the_openings_leave() -> None:
    floor = Floor(ROOM, (hearth(2, 100, 144), doorway(2, 0, 30), doorway(2, 30, 40)))
    assert floor.strip(2) == ((inches(40), inches(100)),)
    assert floor.strip(1) == ((inches(0), inches(192)),)
    assert [each.start for each in floor.on(2)] == [inches(0), inches(30), inches(100)]


def test_equal_floors_are_one_in_a_set() -> None:
    assert len({Floor(ROOM, (doorway(4, 10, 40),)), Floor(ROOM, (doorway(4, 10, 40),)), Floor(ROOM)}) == 2


@given(some.lists(some.integers(0, 144 * 16), min_size=2, max_size=8, unique=True))
def test_strip_and_openings_together_are_the_wall(places: list[int]) -> None:
    cuts = sorted(places)[: len(places) // 2 * 2]
    pairs = zip(cuts[::2], cuts[1::2], strict=True)
    openings = tuple(
        Opening(OpeningKind.DOORWAY, 4, Length(Fraction(start, 16)), Length(Fraction(end, 16))) for start, end in pairs
    )
    strip = Floor(ROOM, openings).strip(4)
    open_width = sum(each.end.inches - each.start.inches for each in openings)
    assert sum(end.inches - start.inches for start, end in strip) + open_width == 144
    ends = sorted(place for each in openings for place in (each.start, each.end))
    assert all(not any(start < place < end for place in ends) for start, end in strip)
