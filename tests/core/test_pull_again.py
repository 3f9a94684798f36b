"""At the question whether a pull is made again: what is scratched there, and what a doubtful hold brings there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.core.advice import fall_back
from assistant.core.fold import fold
from assistant.core.length import inches
from assistant.core.record import Reading

if TYPE_CHECKING:
    from conftest import Talk

SHORT = ("one and a half", "hooked", "one and three eighths")


def test_scratch_that_takes_the_hold_reading_back(pulling: Talk) -> None:
    pulling.hear(*SHORT, "scratch that")
    assert (pulling.said, pulling.asked) == (["Scratched."], ["Pull one: holding how much?"])
    assert pulling.state.records[0].hold is None
    pulling.hear("one and a half")
    assert (pulling.keys, pulling.state.at) == (["holds", "hold_in_band"], 1)


def test_scratch_that_takes_a_doubted_hold_reading_back(pulling: Talk) -> None:
    pulling.hear("one inch", "hooked", "yes", "one and an eighth", "yes", "scratch that")
    assert (pulling.asked, pulling.state.records[0].hold) == (["Pull one: holding how much?"], None)


def test_cancel_leaves_the_hold_reading(pulling: Talk) -> None:
    pulling.hear(*SHORT, "cancel that")
    assert (pulling.keys, pulling.state.at, pulling.state.records[0].hold) == (["rejected"], 1, Reading(inches("11/8")))


def test_a_hold_that_lost_over_half_is_doubted(pulling: Talk) -> None:
    pulling.hear("one and seven eighths", "hooked", "half")
    assert pulling.asked == ["Half an inch, so little? Yes or no?"]
    pulling.hear("no")
    assert (pulling.asked, pulling.state.own_loss) == (["Pull one: holding how much?"], None)
    pulling.hear("half", "yes")
    assert (pulling.keys, pulling.asked) == (["holds", "hold_short"], ["Pull one again? Yes or no?"])


def test_a_note_made_there_belongs_to_the_pull_that_is_asked_about(pulling: Talk) -> None:
    pulling.hear(*SHORT, "note wrinkle")
    assert (pulling.said, pulling.asked) == (["Noted: wrinkle at pull one."], ["Pull one again? Yes or no?"])
    assert [each.notes for each in pulling.state.records[:2]] == [("wrinkle",), ()]
    pulling.hear("no", "note seam")
    assert [each.notes for each in pulling.state.records[:2]] == [("wrinkle",), ("seam",)]
    assert (pulling.state.at, pulling.state.own_loss) == (1, fall_back(pulling.state.records))


def test_a_note_made_there_at_the_last_pull_of_all(pulling: Talk) -> None:
    while pulling.state.left > 1:
        pulling.hear("ready" if pulling.asks == "ready" else "skip pipe")
    pulling.hear(*SHORT, "note damage")
    last = len(pulling.state.records)
    assert (pulling.state.pull, pulling.keys) == (None, ["note_made"])
    assert pulling.state.records[-1].notes == ("damage",)
    assert dict(pulling.turn.lines[0].values)["number"] == last


def test_a_note_made_there_is_scratched_first(pulling: Talk) -> None:
    pulling.hear(*SHORT, "note wrinkle", "scratch that")
    assert (pulling.said, pulling.asked) == (["Scratched."], ["Pull one again? Yes or no?"])
    assert not any(each.notes for each in pulling.state.records)
    pulling.hear("scratch that")
    assert pulling.asked == ["Pull one: holding how much?"]


def test_going_back_there_is_scratched_to_the_question_itself(pulling: Talk) -> None:
    """Else a pull that is known to be short would be passed over without an answer."""
    before = pulling.hear(*SHORT).state
    pulling.hear("go back", "head two inches", "scratch that", "scratch that")
    assert (pulling.said, pulling.asked, pulling.state) == (["Scratched."], ["Pull one again? Yes or no?"], before)


def test_the_yes_scratched_asks_anew(pulling: Talk) -> None:
    before = pulling.hear(*SHORT).state
    pulling.hear("yes", "head two inches", "scratch that", "scratch that")
    assert (pulling.said, pulling.asked, pulling.state) == (["Scratched."], ["Pull one again? Yes or no?"], before)
    pulling.hear("scratch that")
    assert pulling.asked == ["Pull one: holding how much?"]
    assert fold(pulling.events) == pulling.state


def test_a_note_scratched_after_the_no_asks_no_more(pulling: Talk) -> None:
    pulling.hear(*SHORT, "note wrinkle", "no", "scratch that")
    assert (pulling.keys, pulling.asks, pulling.state.at) == (["scratched"], "pull", 1)
