"""Closing a walk: misclosure, the compass rule, and who is named when it does not close."""

from fractions import Fraction
from math import atan2, degrees
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from assistant.core.length import ZERO, Length, System, inches, millimetres
from assistant.core.outline import Leg, Outline, OutlineError
from assistant.core.traverse import ClosureRule, close, misclosure
from tests.core.floors import area, oblique, outlines, rectilinear

ELL = ((144, 90), (96, 90), (60, -90), (48, 90), (84, 90), (144, 90))
SEEDS = some.integers(0, 10**6).map(Random)


def legs(*given: tuple[int | Fraction, int | Fraction]) -> list[Leg]:
    return [Leg(inches(Fraction(length)), Fraction(turn)) for length, turn in given]


def walked(room: Outline) -> list[Leg]:
    """The legs of a rectilinear room."""
    return [Leg(room.length_of(wall), Fraction(90 * room.bend(wall))) for wall in range(1, room.walls + 1)]


def longer(walk: list[Leg], wall: int, by: Length) -> list[Leg]:
    return [Leg(leg.length + by, leg.turn) if at == wall else leg for at, leg in enumerate(walk, 1)]


def refused(walk: list[Leg], rule: ClosureRule | None = None) -> OutlineError:
    with pytest.raises(OutlineError) as told:
        close(walk, rule)
    assert "\n" not in str(told.value)
    return told.value


@given(SEEDS)
def test_an_exact_rectilinear_walk_closes_with_nothing_over(seed: Random) -> None:
    room = rectilinear(seed)
    back, found = close(walked(room))
    assert (found.x, found.y, found.distance, found.within) == (0, 0, ZERO, True)
    assert area(back) == area(room)
    assert [back.length_of(wall) for wall in range(1, back.walls + 1)] == [leg.length for leg in walked(room)]


@given(SEEDS)
def test_an_exact_oblique_walk_closes_but_for_rounding(seed: Random) -> None:
    """Turns taken from the corners by atan2, as a float: the room comes back to a millionth of an inch."""
    room = oblique(seed)
    ways = [atan2(*(float(each) for each in _step(room, wall))) for wall in range(1, room.walls + 1)]
    turns = [
        (degrees(after - before) + 180) % 360 - 180 for before, after in zip(ways, ways[1:] + ways[:1], strict=True)
    ]
    exact = [Fraction(turn).limit_denominator(10**11) for turn in turns[:-1]]
    walk = [
        Leg(room.length_of(wall), turn)
        for wall, turn in zip(range(1, room.walls + 1), [*exact, 360 - sum(exact)], strict=True)
    ]
    back, found = close(walk)
    assert found.distance == ZERO
    assert max(abs(found.x), abs(found.y)) < Fraction(1, 10**6)
    assert float(area(back)) == pytest.approx(float(area(room)), rel=1e-7)


def _step(room: Outline, wall: int) -> tuple[Fraction, Fraction]:
    a, b = room.ends(wall)
    return b.x - a.x, b.y - a.y


def test_a_metric_misclosure_is_told_to_the_millimetre() -> None:
    """DER: 20 mm are 20 mm, and no 13/16 in, which would be 21."""
    sides = ((millimetres(each).inches, 90) for each in (3000, 4000, 3020, 4000))
    found = misclosure(legs(*sides))
    assert (found.distance, found.off(System.METRIC)) == (millimetres(20), millimetres(20))
    assert found.off(System.IMPERIAL) == inches("13/16")
    assert found.told(System.METRIC).startswith("20 mm of ")


def test_forty_five_degrees() -> None:
    """DER: a 60 in square with its far right corner cut off at 30 in: the cut is 30 times the root of 2."""
    walk = legs((60, 90), (30, 45), (Fraction(424264, 10**4), 45), (30, 90), (60, 90))
    room, found = close(walk)
    assert found.off(System.IMPERIAL) == inches("1/16")
    assert found.x**2 + found.y**2 < Fraction(1, 10**7)
    assert float(area(room)) == pytest.approx(3150, abs=1e-2)


def test_the_compass_rule_worked_by_hand() -> None:
    """DER: 100 by 200 in, the far wall taken 3 in long: perimeter 603, so the corners move 3 x 200/603 and so on."""
    room, found = close(legs((200, 90), (103, 90), (200, 90), (100, 90)))
    assert (found.x, found.y, found.distance) == (3, 0, inches(3))
    assert found.tolerance == inches(1 + Fraction(603, 300))
    assert (found.within, found.suspect) == (True, 2)
    moved = [(each.x, each.y) for each in room.corners]
    shares = [3 * Fraction(gone, 603) for gone in (0, 200, 303, 503)]
    assert moved == [(0, 0), (-shares[1], 200), (103 - shares[2], 200), (103 - shares[3], 0)]


@settings(deadline=None)
@given(SEEDS, some.data())
def test_shifts_are_in_proportion_to_the_way_walked(seed: Random, data: some.DataObject) -> None:
    """Beside numpy: dead reckoning and the rule as a cumulative sum, in floats."""
    exact = walked(rectilinear(seed))
    off = [data.draw(some.integers(-8, 8)) for _ in exact]
    walk = [Leg(leg.length + inches(Fraction(by, 16)), leg.turn) for leg, by in zip(exact, off, strict=True)]
    try:
        room, found = close(walk, ClosureRule(fixed=inches(100)))
    except OutlineError:
        return  # So narrow a room that the errors close its walls on each other.
    ways = np.radians(np.cumsum([0.0] + [float(leg.turn) for leg in walk[:-1]]))
    lengths = np.array([float(leg.length.inches) for leg in walk])
    ends = np.cumsum(np.stack([lengths * np.sin(ways), lengths * np.cos(ways)], axis=1), axis=0)
    mended = ends - np.outer(np.cumsum(lengths) / lengths.sum(), ends[-1])
    corners = np.array([[float(each.x), float(each.y)] for each in (*room.corners[1:], room.corners[0])])
    assert np.allclose(corners, mended, atol=1e-9)
    assert np.allclose([float(found.x), float(found.y)], ends[-1], atol=1e-9)
    assert found.distance.inches >= Fraction(float(np.hypot(*ends[-1]))) - Fraction(1, 10**9)
    assert found.distance.inches < Fraction(float(np.hypot(*ends[-1]))) + Fraction(1, 16) + Fraction(1, 10**9)


@settings(deadline=None)
@given(SEEDS, some.data())
def test_a_blunder_is_found_among_the_walls_along_the_gap(seed: Random, data: some.DataObject) -> None:
    walk = walked(rectilinear(seed))
    wall = data.draw(some.integers(1, len(walk)))
    found = misclosure(longer(walk, wall, inches(data.draw(some.integers(1, 60)))))
    along = [sum(leg.turn for leg in walk[: each - 1]) % 180 for each in (wall, found.suspect)]
    assert along[0] == along[1]


@given(SEEDS)
def test_a_blunder_in_an_oblique_room_names_its_wall_or_one_as_parallel(seed: Random) -> None:
    """A regular polygon of an odd number of walls has no two parallel ones."""
    count = seed.choice([3, 5, 9])
    wall = seed.randint(1, count)
    walk = longer(legs(*[(120, Fraction(360, count))] * count), wall, inches(24))
    found = misclosure(walk)
    assert found.suspect == wall
    assert not found.within
    assert refused(walk).wall == wall


def test_among_parallel_walls_the_one_whose_change_leaves_a_room() -> None:
    """Wall 6 is longest, but 40 in less of wall 2 is the only change: no other far-facing wall could give it up."""
    walk = legs((144, 90), (136, 90), (60, -90), (48, 90), (84, 90), (144, 90))
    assert refused(walk).wall == 6
    short = legs((100, 90), (20, 90), (50, -90), (20, 90), (50, 90), (100, 90))
    told = refused(short)
    assert (told.why, told.wall) == ("does_not_close", 6)
    assert str(told) == (
        "the walls do not close by 5 ft, at most 2 1/8 in is allowed; check wall 6: 3 ft 4 in would be right"
    )


def test_a_change_that_crosses_a_wall_is_not_the_first_choice() -> None:
    """A U: the tongue's wall 5, longest, would have to grow through the far wall, so the next longest is named."""
    true = ((100, 90), (90, 90), (100, 90), (30, 90), (80, -90), (30, -90), (80, 90), (30, 90))
    walk = longer(legs(*true), 1, inches(-30))
    assert not misclosure(walk).within
    told = refused(walk)
    assert told.why == "does_not_close"
    assert told.wall == 1 or walk[(told.wall or 0) - 1].length >= inches(80)


def test_a_flipped_turn_is_named() -> None:
    for wall in range(1, 7):
        walk = legs(*ELL)
        walk[wall - 1] = Leg(walk[wall - 1].length, -walk[wall - 1].turn)
        told = refused(walk)
        assert (told.why, told.wall) == ("turn_flipped", wall), wall
        assert "other way would mend it" in str(told)
    with pytest.raises(OutlineError, match="turn after wall 3"):
        misclosure(legs(*((length, abs(turn)) for length, turn in ELL)))


def test_two_turns_taken_for_each_other_are_named() -> None:
    told = refused(legs((144, 90), (96, -90), (60, 90), (48, 90), (84, 90), (144, 90)))
    assert (told.why, told.wall) == ("turns_swapped", 2)
    assert "after wall 2 and wall 3" in str(told)


def test_where_no_one_length_mends_it_the_likeliest_is_still_named() -> None:
    told = refused(legs((144, 90), (96, 90), (100, 90), (30, 90)))
    assert told.why == "does_not_close_anywhere"
    assert told.wall in (2, 4)
    told = refused(legs((144, 90), (300, 90), (60, -90), (48, 90), (200, 90), (144, 90)))
    assert told.why == "does_not_close_anywhere"


def test_a_length_off_by_more_than_half_is_named_where_no_turns_explain_it() -> None:
    told = refused(legs((200, 90), (100, 90), (90, 90), (100, 90)))
    assert (told.why, told.wall) == ("does_not_close", 1)


@pytest.mark.parametrize(
    ("why", "wall", "says", "walk"),
    [
        ("too_few_walls", None, "2 walls", ((9, 90), (9, 90))),
        ("zero_wall", 2, "wall 2", ((9, 90), (0, 90), (9, 90), (9, 90))),
        ("zero_wall", 3, "longer than nothing", ((9, 90), (9, 90), (-1, 90), (9, 90))),
        ("spike", 1, "180 degrees", ((9, 180), (9, 90), (9, 90))),
        ("spike", 2, "180 degrees", ((9, 90), (9, -200), (9, 90))),
        ("walked_backwards", None, "left hand", ((9, -90), (9, -90), (9, -90), (9, -90))),
        ("turns_do_not_close", None, "260 degrees to the right, 100 too few", ((9, 90), (9, 90), (9, 80))),
        ("turns_do_not_close", None, "450 degrees to the right, 90 too many", ((9, 90),) * 5),
        (
            "crosses_itself",
            8,
            "wall 8 crosses wall 3",
            ((10, 90), (10, 90), (15, -90), (10, -90), (15, 90), (10, 90), (10, 90), (30, 90)),
        ),
    ],
)
def test_what_cannot_be_a_room_is_refused(
    why: str, wall: int | None, says: str, walk: tuple[tuple[int, int], ...]
) -> None:
    told = refused(legs(*walk), ClosureRule(fixed=inches(1000)))
    assert (told.why, told.wall) == (why, wall)
    assert says in str(told)


@given(outlines())
def test_the_tolerance_is_the_rules(room: Outline) -> None:
    walk = [Leg(room.length_of(wall), Fraction(0)) for wall in range(1, room.walls + 1)]
    rule = ClosureRule(inches(2), Fraction(1, 100))
    assert rule.tolerance(walk) == inches(2) + sum((leg.length for leg in walk), ZERO) * Fraction(1, 100)
