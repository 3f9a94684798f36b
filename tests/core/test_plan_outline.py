"""Plans of rooms that are no plain rectangle: every wall covered, spans as shapely casts them, tails, tubes, orders."""

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from shapely import LineString, Polygon

from assistant.core.band import DEFAULT_FIGURE
from assistant.core.compass import Axis, Corner, Wall
from assistant.core.floor import Opening, OpeningKind
from assistant.core.kit import Build, Kit, Shortage, Tube
from assistant.core.length import ZERO, Length, System, feet, inches
from assistant.core.order import Direction, End, Order, Part, PassRule, Side
from assistant.core.outline import Outline, Point
from assistant.core.plan import Figures, Job, Plan, Pull, make_plan
from assistant.core.room import Room
from tests.core import floors

FIGURES = Figures(dict.fromkeys(Direction, DEFAULT_FIGURE))
BOTH = Order("both", (PassRule(Direction.LENGTH, Part.REST), PassRule(Direction.CROSS, Part.REST)))
TIED = Order("tied", (PassRule(Direction.CROSS, Part.TIE_OFF), *BOTH.passes))
L_SHAPE = Outline(floors.points((0, 0), (0, 192), (144, 192), (144, 120), (204, 120), (204, 0)))
ALCOVE = Outline(floors.points((0, 0), (0, 180), (60, 180), (60, 204), (120, 204), (120, 180), (180, 180), (180, 0)))
BREAST = Outline(floors.points((0, 0), (0, 180), (60, 180), (60, 160), (120, 160), (120, 180), (180, 180), (180, 0)))
BAY = Outline(floors.points((0, 0), (0, 150), (60, 180), (120, 180), (180, 150), (180, 0)))
ROOMS = {"L": L_SHAPE, "alcove": ALCOVE, "breast": BREAST, "bay": BAY}
HALF_HEAD, GAP = inches("15/2"), inches(4)


def room(outline: Outline, *openings: Opening) -> Room:
    length, width = outline.extent(Axis.DOOR_TO_FAR), outline.extent(Axis.LEFT_TO_RIGHT)
    return Room(length, width, System.IMPERIAL, outline=outline, openings=openings)


def plan(where: Room, corner: Corner = Corner.DOOR_LEFT, order: Order = BOTH, kit: Kit | None = None) -> Plan:
    return make_plan(Job(where, corner, Axis.DOOR_TO_FAR, FIGURES, order, kit=kit))


def abouts(found: Plan) -> dict[str, str]:
    """All that is told of each matter."""
    told = dict.fromkeys((each.about for each in found.cautions), "")
    return {about: "; ".join(each.text for each in found.cautions if each.about == about) for about in told}


@pytest.mark.parametrize("corner", Corner)
@pytest.mark.parametrize("name", ROOMS)
def test_every_wall_facing_away_from_the_corner_is_covered(name: str, corner: Corner) -> None:
    """Heads 15 in wide, gaps of at most 4 in or as the caution says: no stretch of strip is left out, none twice."""
    outline = ROOMS[name]
    found = plan(room(outline), corner)
    away = {each.opposite for each in corner.walls.values()}
    facing = {wall for wall in range(1, outline.walls + 1) if outline.facing(wall) in away}
    assert {each.wall_number for each in found.pulls} == facing
    told = " ".join(each.text for each in found.cautions)
    for wall in facing:
        places = [each.position for each in found.pulls if each.wall_number == wall]
        assert places == sorted(places)
        edges = [ZERO, *(at for each in places for at in (each - HALF_HEAD, each + HALF_HEAD)), outline.length_of(wall)]
        bare = [end - start for start, end in zip(edges[::2], edges[1::2], strict=True)]
        assert min(bare) >= ZERO
        assert max(bare) <= GAP or f"wall {wall}: " in told


@pytest.mark.parametrize("corner", Corner)
@pytest.mark.parametrize("name", ROOMS)
def test_spans_are_those_shapely_casts(name: str, corner: Corner) -> None:
    """Reference: shapely (GEOS), the chord through the head's place straight along the pull."""
    outline = ROOMS[name]
    shape = Polygon([(float(each.x), float(each.y)) for each in outline.corners])
    for pull in plan(room(outline), corner).pulls:
        x, y = float(pull.head_at.x), float(pull.head_at.y)
        upright = pull.axis is Axis.DOOR_TO_FAR
        ray = LineString([(x, -1e4), (x, 1e4)] if upright else [(-1e4, y), (1e4, y)])
        cut = shape.intersection(ray)
        pieces = [each for each in getattr(cut, "geoms", [cut]) if each.length and each.distance(_spot(pull)) < 1e-6]
        assert pieces[0].length == pytest.approx(float(pull.span.inches), abs=1e-6)
        assert pull.band is not None and pull.band.least == pull.span * Fraction(1, 100)


def _spot(pull: Pull) -> LineString:
    x, y = float(pull.head_at.x), float(pull.head_at.y)
    return LineString([(x, y), (x, y + 1e-9)])


@pytest.mark.parametrize("seed", range(40))
def test_a_mirrored_room_has_the_mirrored_plan(seed: int) -> None:
    """Left for right: the same pulls at the same positions, from the mirrored corner."""
    outline = floors.rectilinear(Random(seed))
    mirrored = Outline(tuple(Point(-each.x, each.y) for each in reversed(outline.corners)))
    for one, other in ((Corner.DOOR_LEFT, Corner.DOOR_RIGHT), (Corner.FAR_RIGHT, Corner.FAR_LEFT)):
        here, there = plan(room(outline), one, TIED), plan(room(mirrored), other, TIED)
        keys = [[(each.position, each.span, each.flag, each.direction) for each in p.pulls] for p in (here, there)]
        assert keys[0] == keys[1]
        assert [each.head_at.x for each in here.pulls] == [-each.head_at.x for each in there.pulls]


def test_the_tie_off_ends_at_the_orders_own_run() -> None:
    order = replace(TIED, tie_off_run=inches(60))
    tie, _, rest = plan(Room(feet(16), feet(12), System.IMPERIAL), order=order).passes
    assert [each.called_position for each in tie.pulls] == [inches("23/2"), inches(30), inches(49)]
    assert rest.pulls[0].position > inches(60)


def test_an_order_may_pull_home() -> None:
    """From hooked far walls towards the start corner's own."""
    passes = tuple(replace(each, towards=End.HOME) for each in BOTH.passes)
    order = Order("home", passes, hooked=(Side.CROSS_AWAY, Side.LENGTH_AWAY))
    found = plan(room(L_SHAPE), order=order)
    assert {each.wall for each in found.pulls} == {Wall.DOOR, Wall.LEFT}
    assert {each.wall_number for each in found.pulls} == {1, 6}


def test_a_first_pull_leans_into_its_corner_or_says_that_it_cannot() -> None:
    leaning = Order("lean", (replace(BOTH.passes[0], first_angle=Fraction(15)), BOTH.passes[1]))
    first, *others = plan(Room(feet(13), feet(20), System.IMPERIAL), order=leaning).pulls
    # 13 ft at 15 degrees: 156 / cos 15 = 161.503 in (checks.md, DER)
    assert float(first.span.inches) == pytest.approx(161.503, abs=5e-4) and first.angle == 15
    assert not any(each.angle for each in others)
    narrow = plan(Room(feet(40), feet(4), System.IMPERIAL), order=leaning)
    assert not any(each.angle for each in narrow.pulls)
    assert "no room to angle the first pull" in abouts(narrow)["angle"]


def test_an_order_of_one_direction_leaves_the_other_row_out() -> None:
    only = Order("only", (PassRule(Direction.LENGTH, Part.REST, first_angle=Fraction(15)),))
    sliver = plan(Room(feet(12), inches(14), System.IMPERIAL), order=only)
    assert sliver.passes == () and "layout: too_short" in abouts(sliver)


@pytest.mark.parametrize(
    ("where", "flag", "told"),
    [
        (room(L_SHAPE, Opening(OpeningKind.DOORWAY, 6, feet(2), feet(15))), "doorway", "would stand in a doorway"),
        (room(L_SHAPE, Opening(OpeningKind.HEARTH, 1, feet(2), feet(12), inches(18))), "hearth", "against a hearth"),
        (
            replace(room(L_SHAPE), islands=(floors.points((40, 40), (100, 40), (70, 90)),)),
            "island",
            "against an island",
        ),
        (room(BREAST), "reflex", "past a corner"),
    ],
)
def test_a_bad_tail_is_flagged_with_a_deadman_proposed(where: Room, flag: str, told: str) -> None:
    corner = Corner.FAR_LEFT if flag == "reflex" else Corner.DOOR_LEFT
    found = plan(where, corner)
    flagged = [each.number for each in found.pulls if each.flag == flag]
    assert flagged
    text = abouts(found)[f"tail: {flag}"]
    assert told in text and "deadman" in text and all(str(each) in text for each in flagged[:1])


def test_a_span_beyond_the_kit_gets_its_split() -> None:
    """47 ft worked from the middle: two of 23 1/2 ft (Floor Covering Installer [P])."""
    kit = Kit(tubes=(Tube(feet(4), 4), Tube(feet(2), 1), Tube(feet(1), 1)))
    found = plan(Room(feet(47), feet(12), System.IMPERIAL), kit=kit)
    long = [each for each in found.pulls if each.direction is Direction.LENGTH]
    assert all(isinstance(each.build, Shortage) and each.build.parts == 2 for each in long)
    assert "47 ft" in abouts(found)["reach"] and "2 parts of 23 ft 6 in" in abouts(found)["reach"]
    assert all(isinstance(each.build, Build) for each in found.pulls if each.direction is Direction.CROSS)


@pytest.mark.parametrize(
    ("length", "told"),
    [
        (feet(2), "too long for 2 ft"),
        (feet(6, 6), "no tubes and hole fit 6 ft 6 in: the nearest is"),
    ],
)
def test_other_spans_no_build_fits_say_why(length: Length, told: str) -> None:
    kit = Kit(tubes=(Tube(feet(4), 5),), extension_most=inches(18))
    found = plan(Room(length, feet(9), System.IMPERIAL), kit=kit)
    assert told in " ".join(each.text for each in found.cautions)


def test_an_out_of_square_room_changes_its_spans_evenly() -> None:
    """16 ft along the left wall, 16 ft 2 in along the right one: linear in between (checks: our own arithmetic)."""
    found = plan(Room(feet(16), feet(12), System.IMPERIAL, right=feet(16, 2)), Corner.DOOR_RIGHT)
    for each in found.pulls:
        if each.direction is Direction.LENGTH:
            assert each.span.inches == 192 + each.head_at.x * 2 / 144
    assert "eats 2 in of the 3 in trim allowance" in abouts(found)["square"]
