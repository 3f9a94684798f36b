"""Neighbours: two heads next to each other on one wall; in a room told wall by wall, too."""

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import advice, spoken
from assistant.core.advice import Outcome
from assistant.core.band import Verdict, percent
from assistant.core.length import feet, inches
from assistant.core.neighbours import in_line, jumps, neighbours
from assistant.core.order import Direction
from assistant.core.plan import Pull
from assistant.core.record import PullRecord
from tests.conftest import Talk
from tests.core.test_advice import done, pull, readings

L_ROOM = (
    "job one", "tufted", "no figure", "the same", "skip the rest", "wall by wall",
    "sixteen feet turn right", "eight feet turn right", "eight feet turn left", "eight feet turn right",
    "eight feet turn right", "sixteen feet turn right", "that closes it", "yes",
    "no openings", "door left", "door to far",
)  # fmt: skip
"""Walls two and four both face the door: sixteen feet of carpet before the one, eight before the other."""

SHARES = {192: 33, 96: 20}
"""Sixteenths of an inch that a pull of so many inches moves here: 1.07 %, and 1.30 %."""


def pulled(talk: Talk, moves: Callable[[Pull], int]) -> list[str]:
    """The whole job with these sixteenths at each pull; all that is said of unevenness."""
    told: list[str] = []
    while talk.asks != "close":
        here = talk.state.pull
        assert here is not None
        if talk.asks == "ready":
            talk.hear("ready")
        elif talk.asks == "confirm":
            talk.hear("yes")
        else:
            moved = spoken.length(inches(Fraction(moves(here), 16)), talk.state.tape)
            talk.hear("hooked" if talk.state.record.readings and talk.asks == "pull" else moved)
        told += [each for each in talk.said if "uneven" in each]
    return told


def share(here: Pull) -> int:
    return SHARES[int(here.span.inches)]


def test_walls_that_are_each_even_have_no_uneven_pulls(talk: Talk) -> None:
    """Pulls of different walls are no neighbours, though each wall's positions begin anew at nothing."""
    assert pulled(talk.hear(*L_ROOM), share) == []


def test_uneven_pulls_on_one_wall_of_several_are_named(talk: Talk) -> None:
    talk.hear(*L_ROOM)
    assert talk.state.plan is not None
    one, two = [each.number for each in talk.state.plan.pulls if each.wall_number == 4][1:3]
    told = pulled(talk, lambda each: 23 if each.number == two else 16 if each.wall_number == 4 else share(each))
    words = [f"Pulls {spoken.whole(one)} and {spoken.whole(two)} are uneven."]
    assert told[:1] == words and all(spoken.whole(two) in each for each in told)


@pytest.fixture(scope="module")
def plan_of_l(new_talk: Callable[[], Talk]) -> tuple[Pull, ...]:
    state = new_talk().hear(*L_ROOM).state
    assert state.plan is not None
    return state.plan.pulls


def test_a_line_goes_wall_by_wall(plan_of_l: tuple[Pull, ...]) -> None:
    for direction in Direction:
        line = in_line(plan_of_l, direction)
        assert sorted(each.number for each in line) == [x.number for x in plan_of_l if x.direction is direction]
        walls = [each.wall_number for each in line]
        assert len(dict.fromkeys(walls)) == sum(a != b for a, b in zip(walls, [0, *walls], strict=False))


@given(data=st.data())
def test_uneven_pulls_stand_side_by_side_on_the_floor(plan_of_l: tuple[Pull, ...], data: st.DataObject) -> None:
    """Law: no third head of the direction stands between the two, and they are all such pairs over the setting."""
    moved = data.draw(st.lists(st.integers(8, 44), min_size=len(plan_of_l), max_size=len(plan_of_l)))
    made = [
        (one, Outcome(inches(Fraction(each, 16)), Verdict.IN_BAND, measured=True))
        for one, each in zip(plan_of_l, moved, strict=True)
    ]
    pairs = {(each.first.number, each.second.number): each.points for each in neighbours(made)}
    shares = {one.number: percent(found.moved, one.span) for one, found in made}
    expected = {}
    for one in plan_of_l:
        for two in (each for each in plan_of_l if each.wall_number == one.wall_number):
            between = [
                each for each in plan_of_l
                if each.wall_number == one.wall_number and one.position < each.position < two.position
            ]  # fmt: skip
            if one.position < two.position and not between:
                expected[one.number, two.number] = abs(shares[one.number] - shares[two.number])
    assert pairs == expected
    uneven = {(each.first.number, each.second.number) for each in jumps(made)}
    assert uneven == {pair for pair, points in expected.items() if points > Fraction(3, 20)}


def test_jumps_name_both_neighbours() -> None:
    """Neighbour tolerance 0.15 points [design choice]."""
    span = feet(10)  # 1/16 in is 0.052 points
    records = [done("3/2"), done("3/2"), done("27/16"), done("13/8")]
    pulls = [pull(i + 1, span) for i in range(len(records))]
    row = list(zip(pulls, advice.outcomes(pulls, records), strict=True))
    (jump,) = jumps(row)
    assert (jump.first.number, jump.second.number) == (2, 3)
    assert jump.points == Fraction(3, 16) / 120 * 100


def test_a_jump_of_just_the_setting_is_even() -> None:
    outcomes = [Outcome(inches(moved), Verdict.IN_BAND, measured=True) for moved in ("3", "315/100")]
    row = [(pull(i + 1, inches(100)), each) for i, each in enumerate(outcomes)]
    assert jumps(row) == ()
    row[1] = (row[1][0], Outcome(inches("316/100"), Verdict.IN_BAND, measured=True))
    assert len(jumps(row)) == 1


def test_a_skipped_pull_breaks_the_chain() -> None:
    records = [done("1"), PullRecord(readings=readings("2"), skipped="pipe"), done("3")]
    pulls = [pull(i + 1) for i in range(len(records))]
    row = list(zip(pulls, advice.outcomes(pulls, records), strict=True))
    assert jumps(row) == ()


def test_directions_are_not_neighbours() -> None:
    one, two = pull(1), pull(2, direction=Direction.LENGTH)
    outcomes = [Outcome(inches(each), Verdict.IN_BAND, measured=True) for each in (1, 3)]
    assert jumps([(one, outcomes[0]), (two, outcomes[1])]) == ()
