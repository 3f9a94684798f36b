"""The room by words: its outline wall by wall, whether it is square, its openings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core import plausible, spoken
from assistant.core.asks import next_ask
from assistant.core.floor import Opening, OpeningKind
from assistant.core.fold import fold
from assistant.core.length import ZERO, Length, System, feet, inches, millimetres
from assistant.core.meaning import Meaning, Quantity
from assistant.core.outline import Leg, OutlineError
from assistant.core.room import Axis, Corner, Wall
from assistant.core.session import respond
from assistant.core.state import State
from assistant.core.traverse import ClosureRule, close
from assistant.screen.view import panel_of
from tests.core.floors import area

if TYPE_CHECKING:
    from conftest import Talk

SIZED = ("job one", "tufted", "no figure", "the same", "skip the rest")
RECTANGLE = (*SIZED, "sixteen feet by twelve feet", "yes")
L_SHAPE = ("ten feet turn right", "six feet turn right", "four feet turn left", "six feet turn right",
           "six feet turn right", "twelve feet turn right")  # fmt: skip
"""The far right part, 6 by 4 ft, is missing from 10 by 12 ft."""


@pytest.fixture
def walking(talk: Talk) -> Talk:
    """A room about to be told wall by wall."""
    return talk.hear(*SIZED, "wall by wall")


@pytest.fixture
def squaring(talk: Talk) -> Talk:
    """A room of 16 by 12 ft, about to be checked for square."""
    return talk.hear(*RECTANGLE)


@pytest.fixture
def opening(squaring: Talk) -> Talk:
    """The same, about to be given its openings."""
    return squaring.hear("it is square")


# Wall by wall


def test_wall_by_wall_starts_the_outline(talk: Talk) -> None:
    talk.hear(*SIZED, "sixteen feet", "yes", "wall by wall")
    assert talk.asked == ["Drop that side, go wall by wall? Yes or no?"]
    talk.hear("no")
    assert (talk.asks, talk.state.sides) == ("size", {Axis.DOOR_TO_FAR: feet(16)})
    talk.hear("wall by wall", "yes")
    assert (talk.asks, talk.asked, talk.state.legs, talk.state.sides) == ("wall", ["Wall one?"], (), {})
    talk.hear("three metres turn right")
    assert talk.state.system is System.METRIC
    talk.hear("scratch that", "scratch that")
    assert (talk.asks, talk.state.legs, talk.state.sides) == ("size", None, {Axis.DOOR_TO_FAR: feet(16)})


def test_where_are_we_names_the_wall_as_the_screen_and_the_helper_have_it(walking: Talk) -> None:
    """Two walls of an L face the same way."""
    walking.hear(*L_SHAPE, "yes", "no openings", "door left", "door to far", "ready")
    found = {}
    while walking.asks != "close":
        if walking.asks == "pull":
            pull = walking.state.pull
            assert pull is not None
            walking.hear("where are we")
            assert walking.turn.lines[0].values == (("number", pull.number), ("wall", pull.wall_number))
            assert panel_of(walking.state).place.wall == f"wall {pull.wall_number}"
            found[walking.said[0].split(", ")[1]] = pull.wall
        walking.hear("ready" if walking.asks == "ready" else "skip pipe")
    assert found["wall four."] is found["wall two."] is Wall.FAR


@pytest.mark.parametrize(
    ("sentence", "leg", "said"),
    [
        ("twelve feet six turn right", Leg(feet(12, 6), Fraction(90)), ["Twelve feet six inches, right."]),
        ("eighteen inches turn left", Leg(inches(18), Fraction(-90)), ["One foot six inches, left."]),
        ("thirteen feet turn right", Leg(feet(13), Fraction(90)), ["Thirteen feet, right.", "One three."]),
        ("three metres sixty turn left", Leg(millimetres(3600), Fraction(-90)),
         ["Three metres sixty centimetres, left.", "Three, six zero."]),
        ("four feet two bear left forty five degrees", Leg(feet(4, 2), Fraction(-45)),
         ["Four feet two inches.", "Bear left forty five degrees."]),
        ("four feet bear right thirty degrees", Leg(feet(4), Fraction(30)),
         ["Four feet.", "Bear right thirty degrees.", "Three zero."]),
        ("four feet bear right ninety degrees", Leg(feet(4), Fraction(90)), ["Four feet, right."]),
    ],
)  # fmt: skip
def test_a_wall_is_read_back_and_stands(walking: Talk, sentence: str, leg: Leg, said: list[str]) -> None:
    walking.hear(sentence)
    assert (walking.state.legs, walking.said, walking.asked) == ((leg,), said, ["Wall two?"])
    walking.hear("scratch that")
    assert (walking.state.legs, walking.asked) == ((), ["Wall one?"])


@pytest.mark.parametrize(
    ("before", "sentence", "said"),
    [
        ((), "four feet bear left one hundred eighty degrees", "Wall one would double back. Bear by less."),
        (("ten feet turn right",), "four feet bear right two hundred degrees",
         "Wall two would double back. Bear by less."),
        (("ten feet turn right",), "three metres turn right", "Feet or metres? This room is in feet."),
        (("three metres turn right",), "ten feet turn right", "Feet or metres? This room is in metres."),
        ((), "thirty one metres turn right", "That is too long for a room."),
        (("ten feet turn right",), "wall two is three feet", "Walls so far: one."),
        (("ten feet turn right",), "wall one is three metres", "Feet or metres? This room is in feet."),
        (("ten feet turn right",), "that closes it", "A room has three walls or more."),
        (("ten feet turn right",) * 3, "that closes it", "The turns do not add up to a room."),
        (("ten feet turn left",) * 4, "that closes it", "That runs anticlockwise. Keep the walls on your left."),
        (("ten feet turn right",) * 4 + ("no", "ten feet bear left five degrees"), "that closes it",
         "The turns do not add up to a room."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(walking: Talk, before: Sequence[str], sentence: str, said: str) -> None:
    walking.hear(*before)
    legs = walking.state.legs
    walking.hear(sentence)
    assert (walking.said[0], walking.asks, walking.state.legs) == (said, "wall", legs)
    assert isinstance(walking.turn.events[0], ev.Refused) and walking.turn.ask_again


@pytest.mark.parametrize(("degrees", "why"), [(0, "wall_without_turn"), (180, "wall_doubles_back")])
def test_no_turn_and_a_half_turn(walking: Talk, degrees: int, why: str) -> None:
    said = Meaning("wall", (Quantity(Fraction(48), "in"), Quantity(Fraction(degrees), "deg")), word="left")
    assert [each.key for each in respond(walking.state, said).lines] == [why]


def test_a_wall_of_nothing() -> None:
    doubt = plausible.wall(Quantity(Fraction(0), "mm"), None)
    assert doubt is not None and (doubt.why, doubt.refused) == ("wall_of_nothing", True)


def test_one_flipped_turn_is_named(walking: Talk) -> None:
    walking.hear(
        "ten feet turn right", "nine feet turn right", "ten feet turn right", "nine feet turn left", "that closes it"
    )
    assert walking.said == ["Check the turn after wall four."]
    walking.hear("scratch that", "nine feet turn right")
    assert walking.asked == ["Closes exactly.", "Yes or no?"]


def test_walls_that_close_are_proposed_with_the_misclosure(walking: Talk) -> None:
    walking.hear("ten feet turn right", "nine feet turn right", "ten feet and a half inch turn right")
    assert walking.asked == ["Wall four?"]
    walking.hear("nine feet turn right")
    assert walking.said == ["Nine feet, right."]
    assert (walking.asks, walking.asked) == ("confirm", ["Closes within half an inch.", "Yes or no?"])
    assert walking.state.outline is None
    walking.hear("yes")
    assert walking.state.outline == close(walking.state.legs or ())[0]
    assert (walking.said, walking.asks) == (["Good."], "openings")
    walking.hear("scratch that")
    assert (walking.asks, walking.state.outline) == ("wall", None)
    walking.hear("that closes it")
    assert walking.asked[0] == "Closes within half an inch."


def test_a_no_goes_on_walking(walking: Talk) -> None:
    walking.hear(*["ten feet turn right"] * 4, "no")
    assert (walking.asked, len(walking.state.legs or ())) == (["Wall five?"], 4)


def test_an_l_shape(walking: Talk) -> None:
    walking.hear(*L_SHAPE)
    assert walking.asked[0] == "Closes exactly."
    walking.hear("yes")
    room = walking.state.room
    assert room is not None and room.outline is not None
    assert (room.length, room.width, area(room.outline)) == (feet(10), feet(12), 144 * 96)
    walking.hear("no openings", "door left", "door to far")
    assert walking.state.plan is not None


def test_beyond_tolerance_the_wall_most_likely_wrong_is_named_and_mended(walking: Talk) -> None:
    wrong = (*L_SHAPE[:4], "six feet four turn right", L_SHAPE[5])
    walking.hear(*wrong, "that closes it")
    assert walking.said == ["Does not close by four inches.", "Check wall one."]
    assert walking.turn.events == (ev.Refused("does_not_close"),)
    walking.hear("wall five is six feet two")
    assert walking.said == ["Wall five: six feet two inches."]
    assert walking.asked[0] == "Closes within two inches."
    walking.hear("scratch that", "wall five is six feet five")
    assert walking.said == ["Wall five: six feet five inches.", "Does not close by five inches.", "Check wall one."]
    walking.hear("scratch that", "wall five is sixteen feet")
    assert walking.said[:2] == ["Wall five: sixteen feet.", "One six."]
    walking.hear("wall five is six feet", "yes")
    assert (walking.asks, walking.state.outline is not None) == ("openings", True)


def test_a_wall_mended_on_the_way_is_only_read_back(walking: Talk) -> None:
    walking.hear("ten feet turn right", "nine feet turn right", "wall one is eleven feet")
    assert (walking.said, walking.asked) == (["Wall one: eleven feet."], ["Wall three?"])
    assert walking.state.legs == (Leg(feet(11), Fraction(90)), Leg(feet(9), Fraction(90)))
    walking.hear("scratch that")
    assert walking.state.legs == (Leg(feet(10), Fraction(90)), Leg(feet(9), Fraction(90)))


CROSSING = ("ten feet turn right", "ten feet turn right", "six feet turn right", "twelve feet turn left",
            "two feet turn left", "four feet turn right", "two feet turn right", "two feet turn right")  # fmt: skip


def test_walls_that_cross_are_named_with_the_wall(walking: Talk) -> None:
    walking.hear(*CROSSING)
    with pytest.raises(OutlineError) as error:
        close(walking.state.legs or ())
    assert error.value.why == "crosses_itself"
    assert walking.said == ["Two feet, right.", f"Wall {spoken.whole(error.value.wall or 0)} crosses another wall."]
    assert (walking.asks, len(walking.state.legs or ())) == ("wall", 8)
    walking.hear("that closes it")
    assert walking.said == [f"Wall {spoken.whole(error.value.wall or 0)} crosses another wall."]


def test_two_turns_the_wrong_way_are_named(walking: Talk) -> None:
    flipped = (L_SHAPE[0], L_SHAPE[1], "four feet turn right", "six feet turn left", *L_SHAPE[4:])
    walking.hear(*flipped, "that closes it")
    assert (walking.said, walking.asks) == (["Check the turn after wall three."], "wall")


def test_a_room_of_a_foot_is_none(walking: Talk) -> None:
    walking.hear(*["twelve inches turn right"] * 4, "that closes it")
    assert (walking.said, walking.asks) == (["That is too short for a room."], "wall")


def test_the_closing_keeps_to_the_rule_in_force(talk: Talk) -> None:
    strict = ClosureRule(inches("1/4"), Fraction(0))
    order = talk.state.order
    assert order is not None
    talk.events = [ev.Started("test", "none", order, closure=strict)]
    talk.state = fold(talk.events)
    talk.hear(*SIZED, "wall by wall", "ten feet turn right", "nine feet turn right",
              "ten feet and a half inch turn right",
              "nine feet turn right", "that closes it")  # fmt: skip
    assert talk.said[0] == "Does not close by half an inch."


def test_a_metric_outline(walking: Talk) -> None:
    walking.hear("three metres turn right", "four metres turn right", "three metres and", "three metres two turn right",
                 "four metres turn right")  # fmt: skip
    assert walking.asked[0] == "Closes within twenty millimetres."
    walking.hear("yes", "wall four doorway from one metre until one metre eighty", "yes", "that is all")
    assert walking.state.openings == (Opening(OpeningKind.DOORWAY, 4, millimetres(1000), millimetres(1800)),)


# Laws


def said(length: Length, turn: Fraction) -> str:
    return f"{spoken.length(length, System.IMPERIAL)} turn {'right' if turn > 0 else 'left'}"


@st.composite
def rectilinear(draw: st.DrawFn) -> tuple[Leg, ...]:
    """A room under a skyline: up the left wall, along steps, down the right wall, back. No wall of one inch."""
    heights = draw(st.lists(st.integers(32, 400), min_size=1, max_size=5))
    heights = [heights[0], *(b for a, b in pairwise(heights) if abs(a - b) > 1)]
    widths = draw(st.lists(st.integers(24, 200), min_size=len(heights), max_size=len(heights)))
    right, left = Fraction(90), Fraction(-90)
    legs = [Leg(inches(heights[0]), right)]
    for i, width in enumerate(widths):
        drop = (heights[i + 1] if i + 1 < len(heights) else 0) - heights[i]
        legs += [Leg(inches(width), right if drop < 0 else left), Leg(inches(abs(drop)), right if drop < 0 else left)]
        if i + 1 < len(heights):
            # After a step the walk runs on along the far side: the turn back is the other way.
            legs[-1] = Leg(legs[-1].length, left if drop < 0 else right)
    return (*legs, Leg(inches(sum(widths)), right))


def walk(new_talk: Callable[[], Talk], legs: Sequence[Leg]) -> Talk:
    return new_talk().hear(*SIZED, "wall by wall", *(said(leg.length, leg.turn) for leg in legs))


@settings(max_examples=30)
@given(legs=rectilinear())
def test_any_simple_rectilinear_outline_said_exactly_closes(
    new_talk: Callable[[], Talk], legs: tuple[Leg, ...]
) -> None:
    talk = walk(new_talk, legs)
    assert (talk.state.legs, talk.asked) == (legs, ["Closes exactly.", "Yes or no?"])
    talk.hear("yes")
    assert (talk.asks, talk.state.outline) == ("openings", close(legs)[0])
    again = fold(talk.events)
    assert (again, next_ask(again)) == (talk.state, talk.ask)


@settings(max_examples=30)
@given(legs=rectilinear(), pick=st.integers(0, 99), off=st.integers(12, 120), longer=st.booleans())
def test_a_single_wrong_wall_is_refused_and_mended(
    new_talk: Callable[[], Talk], legs: tuple[Leg, ...], pick: int, off: int, *, longer: bool
) -> None:
    at = pick % len(legs)
    wrong = legs[at].length + inches(off if longer else -off)
    assume(wrong > ZERO)
    told = (*legs[:at], Leg(wrong, legs[at].turn), *legs[at + 1 :])
    assume(inches(off) > ClosureRule().tolerance(told))
    talk = walk(new_talk, told)
    assert talk.asks == "wall"
    talk.hear("that closes it")
    assert talk.keys == ["outline_open", "check_wall"]
    assert dict(talk.turn.lines[0].values)["off"] == inches(off)
    assert talk.state.outline is None
    talk.hear(f"wall {spoken.whole(at + 1)} is {spoken.length(legs[at].length, System.IMPERIAL)}", "yes")
    assert talk.state.outline == close(legs)[0]


# Square


def test_it_is_square(squaring: Talk) -> None:
    assert squaring.asked == ["Is it square? Or say a wall or a diagonal."]
    squaring.hear("it is square")
    assert (squaring.said, squaring.asks) == (["Square, as you say. Not measured."], "openings")
    squaring.hear("scratch that")
    assert (squaring.asks, squaring.state.squared) == ("square", "")


def test_what_was_measured_is_not_called_square_because_it_is_said_to_be(squaring: Talk) -> None:
    squaring.hear("right wall is sixteen feet four", "yes", "it is square")
    assert squaring.said[:2] == ["Out of square by four inches.", "Length trim eaten: four inches."]
    assert squaring.state.squared == "measured"


def test_skipped_is_logged_as_not_checked(squaring: Talk) -> None:
    squaring.hear("skip")
    assert (squaring.said, squaring.turn.events) == (
        ["Not checked for square. Logged."],
        (ev.SquareSettled("skipped"),),
    )
    assert squaring.asks == "openings"


def test_both_sides_and_a_diagonal_each_need_a_yes(squaring: Talk) -> None:
    for sentence, question in (
        ("right wall is sixteen feet one", ["Right sixteen feet one inch. Yes or no?", "One six, one."]),
        ("far wall is twelve feet", ["Far twelve feet. Yes or no?"]),
        ("diagonal is twenty feet", ["Diagonal twenty feet. Yes or no?"]),
    ):
        before = squaring.state
        squaring.hear(sentence)
        assert squaring.asked == question
        squaring.hear("no")
        assert (squaring.state.seconds, squaring.state.diagonal) == (before.seconds, before.diagonal)
        squaring.hear(sentence, "yes")
        assert squaring.asked == ["What else? Or say: that is all."]
    assert squaring.state.seconds == {Wall.RIGHT: feet(16, 1), Wall.FAR: feet(12)}
    assert squaring.state.diagonal == inches(240)
    squaring.hear("scratch that")
    assert squaring.state.diagonal is None


BOTH = ("right wall is sixteen feet", "yes", "far wall is twelve feet", "yes")


def test_four_walls_and_a_diagonal_of_240_are_told_to_be_square(squaring: Talk) -> None:
    squaring.hear(*BOTH, "diagonal is twenty feet", "yes", "that is all")
    assert (squaring.said, squaring.turn.events) == (["Square."], (ev.SquareSettled("measured"),))


@pytest.mark.parametrize("sides", [(), BOTH[:2], BOTH[2:]])
def test_a_diagonal_alone_proves_no_square(squaring: Talk, sides: tuple[str, ...]) -> None:
    """A right wall of 16 ft 4 in leaves that diagonal as it is: wall and door wall then meet at no right angle."""
    squaring.hear(*sides, "diagonal is twenty feet", "yes", "that is all")
    assert squaring.said == ["The diagonal fits. Only all four walls prove it square."]
    assert squaring.turn.events == (ev.SquareSettled("measured"),)


def test_a_diagonal_alone_tells_how_far_it_is_off_only_on_a_condition(squaring: Talk) -> None:
    """16 by 12 ft, 20 ft 2 in: it is not square, and by how much rests on walls that nobody measured."""
    squaring.hear("diagonal is twenty feet two", "yes", "that is all")
    assert squaring.said[0].startswith("Out of square by ")
    assert squaring.said[1] == "That holds if facing walls are alike."
    shown = [str(dict(each.values)["text"]) for each in squaring.turn.lines if each.key == "plan_caution"]
    assert shown and all(each.endswith("if facing walls are alike") for each in shown)
    room = squaring.state.room
    assert room is not None and [each.text for each in room.cautions] == shown


def test_what_is_eaten_is_rounded_up_and_the_same_said_and_shown(squaring: Talk) -> None:
    """Both walls and a diagonal of 20 ft [derived]: 3.926 in and 7.332 in, 7 5/16 to the nearest mark."""
    squaring.hear("right wall is sixteen feet four", "yes", "far wall is twelve feet two", "yes")
    squaring.hear("diagonal is twenty feet", "yes", "that is all")
    assert squaring.said[1:3] == [
        "Length trim eaten: three and fifteen sixteenths inches.",
        "Width trim eaten: seven and three eighths inches.",
    ]
    shown = [str(dict(each.values)["text"]) for each in squaring.turn.lines[3:]]
    assert [text.partition("eats ")[2].partition(" of")[0] for text in shown] == ["3 15/16 in", "7 3/8 in"]


@pytest.mark.parametrize(
    "sides",
    [("right wall is sixteen feet", "yes"), ("right wall is sixteen feet", "yes", "far wall is twelve feet", "yes")],
)
def test_sides_that_agree_leave_open_whether_it_is_square(squaring: Talk, sides: tuple[str, ...]) -> None:
    """A parallelogram has such sides: only a diagonal tells it from a rectangle."""
    squaring.hear(*sides, "that is all")
    assert squaring.said == ["Measured sides agree. Only a diagonal proves it square."]
    assert squaring.turn.events == (ev.SquareSettled("measured"),)


def test_out_of_square_is_told_with_what_it_eats(squaring: Talk) -> None:
    squaring.hear("right wall is sixteen feet two", "yes", "skip")
    assert squaring.said == ["Out of square by two inches.", "Length trim eaten: two inches.", ""]
    shown = dict(squaring.turn.lines[-1].values)
    assert shown["text"] == "out of square along the length: eats 2 in of the 3 in trim allowance; 1 in is left"
    room = squaring.state.room
    assert room is not None and room.right == feet(16, 2)


def test_a_shorter_side_eats_nothing(squaring: Talk) -> None:
    squaring.hear("far wall is eleven feet eleven", "yes", "that is all")
    assert squaring.said == ["Out of square by one inch."]


@pytest.mark.parametrize(
    ("sentence", "said", "kept"),
    [
        ("right wall is five metres", ["Feet or metres? This room is in feet."], False),
        ("diagonal is six metres", ["Feet or metres? This room is in feet."], False),
        ("far wall is eleven inches", ["That is too short for a room."], False),
        ("diagonal is thirty feet", ["No such diagonal.", "Square would be twenty feet."], False),
        ("that is all", ["Nothing measured. Say: it is square, or skip."], False),
        ("far wall is twelve feet seven", ["Far twelve feet seven inches. Yes or no?"], True),
        ("far wall is twelve feet eight",
         ["That is more than five per cent off.", "Far twelve feet eight inches. Yes or no?"], True),
        ("diagonal is twenty one feet one",
         ["That is more than five per cent off.", "Diagonal twenty one feet one inch. Yes or no?"], True),
    ],
)  # fmt: skip
def test_sizes_that_are_refused_or_doubted(squaring: Talk, sentence: str, said: list[str], *, kept: bool) -> None:
    squaring.hear(sentence)
    assert (squaring.asks, squaring.asked if kept else squaring.said) == ("confirm" if kept else "square", said)


def test_a_side_that_does_not_go_with_the_diagonal(squaring: Talk) -> None:
    squaring.hear("diagonal is twenty feet", "yes", "right wall is thirty three feet")
    assert (squaring.said, squaring.asks) == (["That does not go with the diagonal."], "square")


# Openings


def test_a_doorway_needs_a_yes(opening: Talk) -> None:
    assert opening.asked == ["Doorways or hearths? The main doorway too."]
    opening.hear("far wall doorway from three feet until five feet eight")
    assert opening.asked == ["Far wall doorway.", "From three feet.", "Until five feet eight inches.", "Yes or no?"]
    opening.hear("no")
    assert opening.state.openings == ()
    opening.hear("far wall doorway from three feet until five feet eight", "yes")
    assert opening.state.openings == (Opening(OpeningKind.DOORWAY, 2, feet(3), feet(5, 8)),)
    assert opening.asked == ["Another opening? Or say: that is all."]
    opening.hear("scratch that")
    assert opening.state.openings == ()


@pytest.mark.parametrize(("name", "wall"), [("left wall", 1), ("far wall", 2), ("right wall", 3), ("door wall", 4),
                                            ("wall three", 3)])  # fmt: skip
def test_walls_of_a_rectangle_by_name(opening: Talk, name: str, wall: int) -> None:
    opening.hear(f"{name} doorway from three feet until five feet", "yes", "that is all")
    assert [each.wall for each in opening.state.openings] == [wall]
    assert opening.said == ["Openings: one."]
    assert opening.asks == "corner"


def test_a_hearth_has_its_depth(opening: Talk) -> None:
    opening.hear("left wall hearth from three feet until thirteen feet and eighteen inches deep")
    assert opening.asked == ["Left wall hearth.", "From three feet.", "Until thirteen feet.",
                             "One foot six inches deep.",
                             "Yes or no?", "One three."]  # fmt: skip
    opening.hear("yes")
    assert opening.state.openings == (Opening(OpeningKind.HEARTH, 1, feet(3), feet(13), inches(18)),)
    room = opening.state.room
    assert room is not None and room.floor.strip(1) == ((ZERO, feet(3)), (feet(13), feet(16)))


FIRST = ("far wall doorway from three feet until five feet eight", "yes")


@pytest.mark.parametrize(
    ("before", "sentence", "said"),
    [
        ((), "far wall doorway from eleven feet until thirteen feet", ["The wall ends at twelve feet."]),
        ((), "wall five doorway from one foot until two feet", ["This room has four walls."]),
        ((), "far wall doorway from five feet until three feet", ["The end must lie beyond the start."]),
        ((), "far wall doorway from one metre until two metres", ["Feet or metres? This room is in feet."]),
        ((), "left wall hearth from three feet until eight feet and twenty feet deep",
         ["The hearth runs into another wall. Less deep."]),
        (FIRST, "far wall doorway from five feet until six feet",
         ["It overlaps another opening.", "From three feet.", "Until five feet eight inches."]),
        (("left wall hearth from thirteen feet until sixteen feet and three feet deep", "yes"),
         "far wall hearth from one foot until four feet and two feet deep", ["Two hearths meet there. Check both."]),
    ],
)  # fmt: skip
def test_openings_that_cannot_be_are_refused_with_what_would_be_right(
    opening: Talk, before: Sequence[str], sentence: str, said: list[str]
) -> None:
    opening.hear(*before)
    had = opening.state.openings
    opening.hear(sentence)
    assert (opening.said, opening.asks, opening.state.openings) == (said, "openings", had)
    assert isinstance(opening.turn.events[0], ev.Refused) and opening.turn.ask_again


def test_a_hearth_without_depth(opening: Talk) -> None:
    sizes = tuple(Quantity(Fraction(each), "in") for each in (12, 36, 0))
    turn = respond(opening.state, Meaning("hearth", sizes, word="far"))
    assert [each.key for each in turn.lines] == ["hearth_flat"]


def test_an_outline_with_several_far_walls_asks_for_the_number(walking: Talk) -> None:
    walking.hear(*L_SHAPE, "yes", "far wall doorway from one foot until three feet")
    assert (walking.said, walking.asks) == (["Which far wall? Say its number."], "openings")
    walking.hear("door wall doorway from one foot until three feet", "yes")
    assert walking.state.openings[0].wall == 6
    walking.hear("wall four doorway from one foot until three feet")
    assert walking.asked[0] == "Wall four doorway."
    walking.hear("yes", "that is all")
    assert [each.wall for each in walking.state.openings] == [6, 4]


def test_an_outline_without_such_a_wall(walking: Talk) -> None:
    """A triangle has no right wall: its walls face left, far and door."""
    bearing = "bear right one hundred thirty five degrees"
    triangle = (f"ten feet {bearing}", f"fourteen feet one and eleven sixteenths {bearing}", "ten feet turn right")
    walking.hear(*triangle, "yes", "right wall doorway from one foot until three feet")
    assert walking.said == ["There is no right wall. Say a number."]


def test_no_openings_and_skipped_ones(opening: Talk) -> None:
    opening.hear("no openings")
    assert (opening.said, opening.asks) == (["Openings: zero."], "corner")
    opening.hear("scratch that", "skip")
    assert opening.said == ["Openings skipped. Logged as not recorded."]
    assert opening.turn.events == (ev.OpeningsSettled("skipped"),)
    opening.hear("scratch that", *FIRST, "skip")
    assert (opening.said, opening.turn.events) == (["Openings: one."], (ev.OpeningsSettled("told"),))


# Older and broken logs


def test_an_older_log_that_has_its_corner_is_not_asked_again(talk: Talk) -> None:
    sized = fold([*talk.hear(*RECTANGLE).events, ev.CornerChosen(Corner.DOOR_LEFT)])
    ask = next_ask(sized)
    assert ask is not None and (ask.grammar, sized.squared) == ("lay", "")
    planned = fold([ev.LayChosen(Axis.DOOR_TO_FAR)], sized)
    after = next_ask(planned)
    assert planned.plan is not None and after is not None and after.grammar == "ready"


@pytest.mark.parametrize("event", [
    ev.WallMended(3, feet(1), System.IMPERIAL),
    ev.OutlineClosed(ZERO, System.IMPERIAL),
    ev.OpeningSet(Opening(OpeningKind.DOORWAY, 9, ZERO, feet(1)), System.IMPERIAL, ""),
])  # fmt: skip
def test_events_that_cannot_be_change_nothing(squaring: Talk, event: ev.Event) -> None:
    for state in (State(), squaring.state):
        assert fold([event], state) == state


@pytest.mark.parametrize("said", [
    Meaning("second_side", (Quantity(Fraction(144), "in"),), word="far"),
    Meaning("diagonal", (Quantity(Fraction(144), "in"),)),
    Meaning("doorway", (Quantity(Fraction(1), "in"), Quantity(Fraction(2), "in")), word="far"),
])  # fmt: skip
def test_out_of_turn(said: Meaning) -> None:
    turn = respond(State(), said)
    assert (turn.events, turn.lines) == ((), ())
