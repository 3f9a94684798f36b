"""Spans across a floor: by hand, and beside shapely on thousands of random rooms."""

from fractions import Fraction
from random import Random

import pytest
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from assistant.core import trade
from assistant.core.bearing import Direction, heading, turned
from assistant.core.chord import Chord, ChordError, Footing
from assistant.core.compass import Axis, Wall
from assistant.core.floor import Floor, FloorError, Opening, OpeningKind
from assistant.core.length import ZERO, Length, feet, inches
from assistant.core.outline import Outline, Point, rectangle
from tests.core.floors import any_room, chord, outward, points

PLATE = Length(trade.TAIL_PLATE_WIDTH.value)
ROOM = rectangle(feet(16), feet(12))
ELL = Outline(points((0, 0), (0, 144), (96, 144), (96, 84), (144, 84), (144, 0)))
UP, ACROSS = Axis.DOOR_TO_FAR, Axis.LEFT_TO_RIGHT
HEARTH = Opening(OpeningKind.HEARTH, 2, inches(40), inches(80), inches(18))
DOOR = Opening(OpeningKind.DOORWAY, 4, inches(100), inches(130))


def at(kind: str, wall: int, place: Fraction | int) -> Footing:
    return Footing(kind, wall, inches(place))


def test_a_plain_room() -> None:
    assert chord(Floor(ROOM), 2, inches(20), UP, PLATE) == Chord(feet(16), at("wall", 2, 20), at("wall", 4, 124), False)
    assert chord(Floor(ROOM), 3, inches(20), ACROSS, PLATE).tail == at("wall", 1, 172)


def test_the_corners_of_a_plain_room_have_the_full_span() -> None:
    for wall, axis, span in ((1, ACROSS, feet(12)), (2, UP, feet(16))):
        for place in (ZERO, Floor(ROOM).outline.length_of(wall)):
            assert chord(Floor(ROOM), wall, place, axis, PLATE).span == span


def test_an_ell_has_a_short_and_a_long_span() -> None:
    assert chord(Floor(ELL), 6, inches(24), UP, PLATE).span == inches(84)
    assert chord(Floor(ELL), 6, inches(60), UP, PLATE).span == inches(144)
    on_the_corner = chord(Floor(ELL), 6, inches(48), UP, PLATE)
    assert on_the_corner.span == inches(84), "the short wall's end is touched: it counts"


def test_the_tail_at_a_reflex_corner_overhangs_by_its_half_plate() -> None:
    """Wall 4 runs from x = 96, a reflex corner, to 144."""
    assert chord(Floor(ELL), 6, inches(41), UP, PLATE).beyond_reflex
    assert not chord(Floor(ELL), 6, inches("40.5"), UP, PLATE).beyond_reflex
    assert not chord(Floor(ELL), 6, inches(2), UP, PLATE).beyond_reflex
    assert not chord(Floor(ELL), 6, inches(140), UP, PLATE).beyond_reflex
    assert chord(Floor(ELL), 1, inches(80), ACROSS, PLATE).tail.wall == 5
    assert chord(Floor(ELL), 1, inches(88), ACROSS, PLATE).beyond_reflex, "wall 3 ends at the reflex corner"


def test_a_straight_joint_does_not_hide_the_reflex_corner() -> None:
    jointed = Outline(
        points((0, 0), (0, 144), (48, 144), (93, 144), (96, 144), (96, 84), (99, 84), (144, 84), (144, 0))
    )
    assert chord(Floor(jointed), 9, inches(42), UP, PLATE).beyond_reflex
    assert chord(Floor(jointed), 9, inches(42), UP, PLATE).tail.wall == 7
    assert not chord(Floor(jointed), 9, inches(96), UP, PLATE).beyond_reflex
    back = Outline(points((0, 0), (0, 144), (96, 144), (96, 87), (96, 84), (144, 84), (144, 0)))
    assert chord(Floor(back), 1, inches(90), ACROSS, PLATE).beyond_reflex


def test_hearth_doorway_and_island() -> None:
    floor = Floor(ROOM, (HEARTH, DOOR), (points((100, 90), (100, 100), (120, 100), (120, 90)),))
    front = chord(floor, 4, inches(84), UP, PLATE)
    assert (front.span, front.tail) == (inches(174), at("hearth", 2, 60))
    behind = chord(floor, 2, inches(60), UP, PLATE)
    assert (behind.span, behind.head, behind.tail.kind) == (inches(174), at("hearth", 2, 60), "wall")
    assert chord(floor, 2, inches(20), UP, PLATE).tail == at("doorway", 4, 124)
    assert chord(floor, 4, inches(110), UP, PLATE).head == at("doorway", 4, 110)
    assert chord(floor, 2, inches(110), UP, PLATE) == Chord(inches(92), at("wall", 2, 110), at("island", 1, 0), False)
    side = chord(floor, 1, inches(180), ACROSS, PLATE)
    assert (side.span, side.tail) == (inches(40), at("hearth", 2, 40))
    # Half a plate beside an opening, and half an inch less.
    assert chord(floor, 2, inches("6.5"), UP, PLATE).tail.kind == "wall"
    assert chord(floor, 2, inches(7), UP, PLATE).tail.kind == "doorway"
    assert chord(floor, 4, inches("56.5"), UP, PLATE).tail.kind == "wall"
    assert chord(floor, 4, inches(57), UP, PLATE).tail == at("hearth", 2, 87)


def test_an_angled_pull() -> None:
    """13 ft at 15 degrees: 156 / cos 15 = 161.503 in (checks.md, DER)."""
    room = Floor(rectangle(feet(20), feet(13)))
    lean = turned(heading(Fraction(90)), Fraction(15))
    found = chord(room, 1, inches(100), ACROSS, PLATE, lean)
    assert float(found.span.inches) == pytest.approx(161.503, abs=5e-4)
    assert float(found.tail.at.inches) == pytest.approx(240 - 100 + 156 * 0.267949, abs=1e-4)


def test_a_pull_that_leans_over_the_wall_beside_has_no_span() -> None:
    lean = turned(heading(Fraction(180)), Fraction(15))
    assert chord(Floor(ROOM), 2, ZERO, UP, PLATE, lean) == Chord(ZERO, at("wall", 2, 0), at("wall", 1, 192), False)
    other = turned(heading(Fraction(180)), Fraction(-15))
    assert chord(Floor(ROOM), 2, feet(12), UP, PLATE, other).tail == at("wall", 3, 0)
    assert chord(Floor(ROOM), 2, ZERO, UP, PLATE, other).span > feet(16)


def test_a_pull_that_leads_nowhere_is_refused() -> None:
    with pytest.raises(ChordError, match="145 in lies beyond wall 2: it must lie within 0 to 144 in"):
        chord(Floor(ROOM), 2, inches(145), UP, PLATE)
    with pytest.raises(ChordError, match="beyond wall 2"):
        chord(Floor(ROOM), 2, inches(-1), UP, PLATE)
    with pytest.raises(ChordError, match="from wall 2 does not lead into the room"):
        chord(Floor(ROOM), 2, inches(9), ACROSS, PLATE)
    with pytest.raises(ChordError, match="does not lead into the room"):
        chord(Floor(ROOM), 2, inches(9), UP, PLATE, heading(Fraction(0)))


# --- Beside shapely -----------------------------------------------------------------------------------------------


def furnished(outline: Outline, seed: Random) -> Floor:
    """With a hearth and an island, where the draw allows."""
    floor = Floor(outline)
    for _ in range(2):
        wall = seed.randint(1, outline.walls)
        length = outline.length_of(wall)
        start, wide = Fraction(seed.randint(0, 60), 100), Fraction(seed.randint(10, 40), 100)
        opening = Opening(
            OpeningKind.HEARTH, wall, length * start, length * (start + wide), inches(seed.randint(4, 30))
        )
        middle = [Fraction(seed.randint(-100, 300)), Fraction(seed.randint(-100, 300))]
        half = seed.randint(3, 20)
        island = points((-half, 0), (0, half + 3), (half, 0), (0, -half))
        island = tuple(Point(each.x + middle[0], each.y + middle[1]) for each in island)
        for more in (((*floor.openings, opening), floor.islands), (floor.openings, (*floor.islands, island))):
            try:
                floor = Floor(outline, *more)
            except FloorError:
                continue
    return floor


def flat(ring: tuple[Point, ...]) -> list[tuple[float, float]]:
    return [(float(each.x), float(each.y)) for each in ring]


def bare(floor: Floor) -> BaseGeometry:
    """The carpeted floor as shapely draws it."""
    shape: BaseGeometry = Polygon(flat(floor.outline.corners))
    for ring in (*map(floor.front, floor.hearths), *floor.islands):
        shape = shape.difference(Polygon(flat(ring)))
    return shape


def edges(floor: Floor) -> BaseGeometry:
    """Walls, hearths less the side on their wall, and islands, as lines."""
    fronts = [[front[1], front[2], front[3], front[0]] for front in map(floor.front, floor.hearths)]
    rings = [(*ring, ring[0]) for ring in (floor.outline.corners, *floor.islands)]
    return MultiLineString([flat(tuple(each)) for each in (*fronts, *rings)])


def beside(shape: BaseGeometry, start: Point, way: Direction, over: float) -> float:
    """How far from the wall the first edge stands, beyond `over` inches of hearth, by intersection with a long line."""
    x, y = float(start.x), float(start.y)
    u, v = float(way[0]), float(way[1])
    line = LineString([(x + u * (over + 1e-7), y + v * (over + 1e-7)), (x + u * 1e4, y + v * 1e4)])
    return over + line.intersection(shape).distance(Spot(x + u * over, y + v * over))


def pull(floor: Floor, seed: Random) -> tuple[int, Length, Axis, Direction | None, Direction]:
    """A place well inside a random wall and a way into the room."""
    wall = seed.randint(1, floor.outline.walls)
    place = floor.outline.length_of(wall) * Fraction(seed.randint(20, 980), 1009)
    back = heading(Fraction({Wall.FAR: 180, Wall.DOOR: 0, Wall.LEFT: 90, Wall.RIGHT: 270}[floor.outline.facing(wall)]))
    axis = UP if floor.outline.facing(wall) in (Wall.FAR, Wall.DOOR) else ACROSS
    lean = turned(back, Fraction(seed.randint(-30, 30))) if seed.random() < 0.3 else None
    return wall, place, axis, lean, lean or back


def test_spans_are_shapelys_on_2400_random_floors() -> None:
    """shapely 2: an independent engine in floats; four pulls on each floor, within a millionth of an inch."""
    seed, kinds = Random(3), dict.fromkeys(("wall", "hearth", "island", "leaning", "from a hearth"), 0)
    for _ in range(2400):
        floor = furnished(any_room(seed), seed)
        lines = edges(floor)
        for _ in range(4):
            wall, place, axis, lean, way = pull(floor, seed)
            out = outward(floor.outline, wall)
            if out[0] * way[0] + out[1] * way[1] >= 0:
                continue
            found = chord(floor, wall, place, axis, PLATE, lean)
            start = floor.place(wall, place)
            over = 0.0
            if found.head.kind == "hearth":
                own = Polygon(flat(floor.front(next(each for each in floor.on(wall) if each.start < place < each.end))))
                ray = LineString([flat((start,))[0], (float(start.x + way[0] * 999), float(start.y + way[1] * 999))])
                over = ray.intersection(own).length
            assert over + float(found.span.inches) == pytest.approx(beside(lines, start, way, over), abs=1e-6)
            kinds[found.tail.kind] += 1
            kinds["leaning"] += lean is not None
            kinds["from a hearth"] += over > 0
    assert min(kinds.values()) > 100, kinds
