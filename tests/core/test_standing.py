"""What the stretcher stands built for, and which way it was turned: a change is called only where that is sure."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from assistant.core import events as ev
from assistant.core.fold import fold
from assistant.core.kit import Kit
from assistant.orders import read_order

if TYPE_CHECKING:
    from conftest import Talk

BEFORE = ("job one", "tufted", "no figure", "the same", "skip the rest")
FROM_THE_DOOR = ("no openings", "door left", "door to far", "ready")
OBLONG = ("fourteen feet", "yes", "twenty feet", "yes", "it is square")
L_SHAPE = ("wall by wall", "sixteen feet turn right", "eight feet turn right", "eight feet turn left",
           "eight feet turn right", "eight feet turn right", "sixteen feet turn right", "yes")  # fmt: skip
MADE = ("two and a half", "hooked", "two and a half")
LONG_ONE = ("Four four foot tubes.", "Hole one.")
SHORT_ONE = ("Two four foot tubes.", "One two foot tube.", "Hole one.")
CHANGE = ("Take off two four foot tubes.", "Add one two foot tube.")
TO_THE_RIGHT = ("Turn the stretcher.", "Tie-off, cross pass, to the right wall. Pulls: two.")
TO_THE_FAR = ("Turn the stretcher.", "Length pass to the far wall. Pulls: thirteen.")


@pytest.fixture
def kitted(talk: Talk) -> Talk:
    """A job of 14 by 20 ft, the kit set, its tie-off of two pulls made: four tubes across, three along."""
    return with_kit(talk, *OBLONG, *FROM_THE_DOOR, *MADE, *MADE)


def with_kit(talk: Talk, *said: str) -> Talk:
    talk.events = [ev.Started("test", "none", read_order(), kit=Kit())]
    talk.state = fold(talk.events)
    return talk.hear(*BEFORE, *said)


def told(talk: Talk) -> tuple[str, ...]:
    """What is called out before the position."""
    return tuple(talk.asked[:-2])


def test_the_pass_after_a_pass_that_was_made_calls_the_change(kitted: Talk) -> None:
    assert told(kitted.hear("ready")) == CHANGE


def test_back_across_a_turn_tells_the_turn_and_the_whole_build_and_so_the_way_forth(kitted: Talk) -> None:
    kitted.hear("ready", "go back")
    assert (kitted.said, told(kitted)) == (["Back at pull two."], (*TO_THE_RIGHT, *LONG_ONE))
    kitted.hear("two and a half")
    assert told(kitted) == (*TO_THE_RIGHT, *LONG_ONE), "a reading changes no question"
    kitted.hear("hooked", "two and a half")
    assert told(kitted) == (*TO_THE_FAR, *CHANGE)


def test_back_from_the_call_to_turn_tells_the_turn_but_no_tubes(kitted: Talk) -> None:
    assert (kitted.asks, told(kitted.hear("go back"))) == ("ready", TO_THE_RIGHT)
    kitted.hear(*MADE)
    assert kitted.asked == [*TO_THE_FAR, "Say ready."]
    assert told(kitted.hear("ready")) == CHANGE


def test_back_and_skipped_tells_the_turn_forth(kitted: Talk) -> None:
    kitted.hear("ready", "go back", "skip doorway")
    assert told(kitted) == (*TO_THE_FAR, *SHORT_ONE)


def test_scratching_a_pass_begun_makes_the_tubes_unsure(kitted: Talk) -> None:
    kitted.hear("ready", "scratch that", "ready")
    assert told(kitted) == SHORT_ONE


def test_scratching_the_way_back_does_not_make_the_tubes_sure_again(kitted: Talk) -> None:
    kitted.hear("ready", "go back", "scratch that")
    assert told(kitted) == (*TO_THE_FAR, *SHORT_ONE)


def test_scratching_a_reading_leaves_the_call_as_it_was(kitted: Talk) -> None:
    kitted.hear("ready", "two inches", "scratch that")
    assert told(kitted) == CHANGE


def test_scratching_a_hook_calls_the_build_that_was_told_after_it(kitted: Talk) -> None:
    """The hook was misheard: nobody can tell whether the change for pull three was made before it."""
    kitted.hear("ready", "two inches", "hooked", "two inches")
    assert told(kitted) == ()
    kitted.hear("scratch that")
    assert kitted.asks == "hold"
    kitted.hear("scratch that")
    assert (kitted.asks, told(kitted)) == ("pull", SHORT_ONE)


def test_scratching_what_was_told_last_of_all(kitted: Talk) -> None:
    kitted.hear("ready")
    while kitted.asks != "close":
        kitted.hear("ready" if kitted.asks == "ready" else "skip pipe")
    kitted.hear("scratch that")
    assert (kitted.asks, told(kitted)) == ("pull", LONG_ONE)


@pytest.mark.parametrize("answer", [("yes",), ("go back",), ("scratch that", "two inches", "yes")])
def test_the_pull_before_made_again_right_after_its_hold_is_no_turn(talk: Talk, answer: tuple[str, ...]) -> None:
    with_kit(talk, *OBLONG, *FROM_THE_DOOR, *MADE, "two and a half", "hooked", "two inches")
    assert talk.asked == ["Pull two again? Yes or no?"]
    assert told(talk.hear(*answer)) == ()
    assert told(talk.hear(*MADE, "ready")) == CHANGE


def test_a_skip_at_another_wall_calls_the_whole_build(talk: Talk) -> None:
    """Wall four of an L-shaped room: pull eight's tubes were called, and may be in when it is skipped."""
    with_kit(talk, *L_SHAPE, *FROM_THE_DOOR)
    while talk.state.at < 7:
        talk.hear(*(("ready",) if talk.asks == "ready" else ("two and a sixteenth", "hooked")))
        if talk.asks == "hold":
            talk.hear("two and a sixteenth")
    assert told(talk) == ("Wall four.", "Take off two four foot tubes.")
    talk.hear("skip doorway")
    assert told(talk) == ("One four foot tube.", "Hole one.")
    talk.hear("go back")
    assert told(talk) == ("One four foot tube.", "Hole one.")
    talk.hear("go back")
    assert told(talk) == ("Wall two.", "Three four foot tubes.", "Hole one.")
    talk.hear("skip doorway")
    assert told(talk) == ("Wall four.", "One four foot tube.", "Hole one.")


def test_back_from_a_hold_that_is_asked_the_way_forth_is_told_after_it(kitted: Talk) -> None:
    """Pull two was made again before pull three's hold was read: its tubes stand then, and the stretcher its way."""
    kitted.hear("ready", "two inches", "hooked")
    assert kitted.asked == ["Pull three: holding how much?"]
    assert told(kitted.hear("go back")) == (*TO_THE_RIGHT, "Take off one two foot tube.", "Add two four foot tubes.")
    assert kitted.hear(*MADE).asked == ["Pull three: holding how much?"]
    assert told(kitted.hear("two inches")) == (*TO_THE_FAR, *CHANGE)


def test_repeat_spells_position_and_least_and_no_tubes(kitted: Talk) -> None:
    kitted.hear("ready")
    assert told(kitted) == CHANGE
    kitted.hear("repeat")
    assert (kitted.said, kitted.turn.ask_again) == (["One zero and a half.", "One and thirteen sixteenths."], True)


def test_repeat_spells_position_and_least_where_no_tubes_reach(talk: Talk) -> None:
    with_kit(talk, "forty feet", "yes", "twelve feet", "yes", "it is square", "no openings", "door left",
             "left to right", "ready", "repeat")  # fmt: skip
    assert talk.asked[:2] == ["The tubes are five feet six inches short.", "Deadman: two parts, twenty feet."]
    assert talk.said == ["Nine.", "Two and seven sixteenths."]


def test_a_skip_where_the_tubes_stay_calls_nothing(kitted: Talk) -> None:
    kitted.hear("ready", "two inches", "hooked", "two inches", "skip doorway")
    assert told(kitted) == ()
