"""Whole jobs by words: understand() -> respond()/missed() -> fold()."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from assistant.core import events as ev
from assistant.core import spoken
from assistant.core.asks import next_ask
from assistant.core.band import Construction, Figure
from assistant.core.conditions import KINDS, Noted
from assistant.core.fold import fold
from assistant.core.length import System, feet, inches, millimetres
from assistant.core.meaning import Meaning, Quantity
from assistant.core.order import Direction
from assistant.core.record import Reading, Status
from assistant.core.room import Axis, Corner
from assistant.core.session import asks_in_silence, missed, respond
from assistant.core.state import Misses, State
from assistant.core.tone import MOST_STEPS
from assistant.screen.view import panel_of

if TYPE_CHECKING:
    from conftest import Talk

SIZED = ("job one", "tufted", "no figure", "the same", "skip the rest")
"""Up to the first side of the room."""
ROOM = ("it is square", "no openings")
"""From both sides to the start corner."""


# Before the plan


def test_setting_up_asks_in_order(talk: Talk) -> None:
    seen = [talk.asks]
    for sentence in ("job four two seven", "woven", "one to two percent", "yes", "no figure", "skip the rest",
                     "nine feet two", "yes", "eight feet", "yes", *ROOM, "far right corner", "left to right",
                     "ready"):  # fmt: skip
        talk.hear(sentence)
        seen.append(talk.asks)
    assert seen == ["job", "construction", "figure", "confirm", "figure", "temperature", "size",
                    "confirm", "size", "confirm", "square", "openings", "corner", "lay", "ready", "pull"]  # fmt: skip
    state = talk.state
    assert (state.job, state.construction, state.corner) == ("427", Construction.WOVEN, Corner.FAR_RIGHT)
    assert state.sides == {Axis.DOOR_TO_FAR: inches(110), Axis.LEFT_TO_RIGHT: feet(8)}


def test_a_size_is_never_committed_without_yes(talk: Talk) -> None:
    talk.hear(*SIZED, "sixteen feet two inches")
    assert talk.asked == ["Length sixteen feet two inches. Yes or no?", "One six, two."]
    assert talk.state.sides == {}
    for sentence in ("no", "sixteen feet", "cancel that", "sixteen feet", "scratch that", "sixteen feet", "nonsense",
                     "repeat", "pause", "resume", "that is wrong"):  # fmt: skip
        talk.hear(sentence)
        assert talk.state.sides == {}
    assert talk.asks == "size"
    talk.hear("sixteen feet", "that is right")
    assert talk.state.sides == {Axis.DOOR_TO_FAR: feet(16)}
    assert talk.said == ["Good."]


def test_both_sides_at_once(talk: Talk) -> None:
    talk.hear(*SIZED, "eleven six by sixteen")
    assert talk.asked == ["Length eleven feet six inches.", "Width sixteen feet. Yes or no?", "One six."]
    assert talk.state.room is None
    talk.hear("yes")
    assert talk.state.sides == {Axis.DOOR_TO_FAR: feet(11, 6), Axis.LEFT_TO_RIGHT: feet(16)}
    assert talk.asks == "square"


@pytest.mark.parametrize(
    ("sentence", "asked"),
    [
        ("three metres sixty", ["Length three metres sixty centimetres. Yes or no?", "Three, six zero."]),
        (
            "three metres sixty by four metres",
            ["Length three metres sixty centimetres.", "Three, six zero.", "Width four metres. Yes or no?"],
        ),
    ],
)
def test_the_first_side_is_read_back_on_the_tape_it_was_said_on(talk: Talk, sentence: str, asked: list[str]) -> None:
    talk.hear(*SIZED, sentence)
    assert talk.asked == asked
    assert talk.hear("no").state.tape is System.IMPERIAL
    assert talk.hear("sixteen feet").asked == ["Length sixteen feet. Yes or no?", "One six."]


def test_mixed_units_are_refused(talk: Talk) -> None:
    talk.hear(*SIZED, "sixteen feet", "yes", "three metres sixty")
    assert talk.said == ["Feet or metres? This room is in feet."]
    assert talk.turn.events == (ev.Refused("mixed_units_in_feet"),)
    assert (talk.asks, len(talk.state.sides)) == ("size", 1)


@pytest.mark.parametrize(
    ("sentence", "why"), [("sixteen inches", "side_too_short"), ("thirty one metres", "side_too_long")]
)
def test_no_such_room(talk: Talk, sentence: str, why: str) -> None:
    talk.hear(*SIZED, sentence)
    assert (talk.keys, talk.asks, talk.turn.ask_again) == ([why], "size", True)


def test_readings_keep_to_the_rooms_tape(pulling: Talk) -> None:
    for sentence in ("thirty eight millimetres", "head fifty millimetres"):
        pulling.hear(sentence)
        assert pulling.said == ["Inches or millimetres? This room is in inches."]
    assert pulling.state.record.readings == ()
    pulling.hear("one and three quarters", "hooked", "forty millimetres")
    assert pulling.keys == ["mixed_units_in_inches"]
    assert pulling.state.record.hold is None


def test_a_metric_job(talk: Talk) -> None:
    talk.hear(*SIZED, "four metres by three metres sixty", "yes", *ROOM, "door left", "door to far", "ready")
    assert talk.state.system is System.METRIC
    assert talk.asked[-1] == "Pull one. At least thirty six millimetres."
    talk.hear("thirty millimetres")
    assert talk.said == ["Thirty millimetres.", "Three zero.", "Short six millimetres. One more bite."]
    talk.hear("three point five nine centimetres")
    assert talk.said[-1] == "Short one millimetre. One more bite."
    talk.hear("five point four one centimetres")
    assert talk.said[-1] == "Over by one millimetre. Ease off."


METRIC = (*SIZED, "four metres by three metres sixty", "yes")


def test_help_in_a_metric_room_names_metric_lengths(talk: Talk) -> None:
    """What it says to say must not be refused as the other tape's."""
    talk.hear(*SIZED)
    assert talk.hear("help").said == ["Say: sixteen feet two inches."]
    talk.hear("four metres", "yes", "help")
    assert talk.said == ["Say: four metres twenty."]
    talk.hear("four metres twenty", "yes", "help")
    assert talk.said == ["Say: it is square, diagonal is five metres, or skip."]
    talk.hear("skip", "help")
    assert talk.said == ["Say: far wall doorway from one metre until two metres, or skip."]
    talk.hear("far wall doorway from one metre until two metres", "yes", "that is all", "door left", "door to far",
              "ready", "help")  # fmt: skip
    assert talk.said == ["Say: forty millimetres, hooked, or skip."]
    assert talk.hear("fifty millimetres", "hooked", "help").said == ["Say: forty millimetres, or skip."]


def test_help_at_the_walls_of_a_metric_room(talk: Talk) -> None:
    talk.hear(*SIZED, "wall by wall", "three metres turn right", "mumble", "mumble")
    assert talk.said == ["Say: three metres sixty turn right, or that closes it."]


def test_bites_missing_are_the_same_said_and_shown(talk: Talk) -> None:
    """34.3 mm of 36, 0.9 mm at a bite: two bites, though what is missing is told as two millimetres."""
    talk.hear(*METRIC, *ROOM, "door left", "door to far", "ready", "thirty three millimetres",
              "three point three nine centimetres", "three point four three centimetres")  # fmt: skip
    assert talk.said[-1] == "Short two millimetres. About two more bites."
    assert panel_of(talk.state).content.instruction == "2 more bites"


def test_the_makers_figure_needs_a_yes(talk: Talk) -> None:
    talk.hear("job one", "woven", "one and a half to two percent")
    assert talk.asked == ["One point five to two. Yes or no?"]
    assert talk.state.maker == {}
    talk.hear("no")
    assert (talk.asks, talk.state.maker) == ("figure", {})
    talk.hear("one and a half to two percent", "yes")
    given = Figure(Fraction(3, 2), Fraction(2), from_maker=True)
    assert talk.state.maker == {Direction.LENGTH: given}
    talk.hear("the same")
    assert (talk.asks, len(talk.state.maker)) == ("confirm", 1)
    talk.hear("yes")
    assert talk.state.maker == {Direction.LENGTH: given, Direction.CROSS: given}
    talk.hear("skip the rest", "ten feet by ten feet", "yes", *ROOM, "door left", "door to far", "ready")
    assert talk.asked[-1] == "Pull one. At least one and thirteen sixteenths inches."


def test_at_least_without_a_most(talk: Talk) -> None:
    talk.hear("job one", "jute", "at least two percent")
    assert talk.asked == ["At least two per cent. Yes or no?"]
    talk.hear("yes", "at least two percent", "yes", "skip the rest", "ten feet by ten feet", "yes", *ROOM, "door left",
              "door to far", "ready", "three inches")  # fmt: skip
    assert talk.said == ["Three inches.", "In band. Hook it."]


def test_an_impossible_figure_is_refused(talk: Talk) -> None:
    talk.hear("job one", "jute", "two to one percent")
    assert (talk.keys, talk.state.proposed, talk.asks) == (["figure_reversed"], None, "figure")


def test_the_same_needs_something_before_it(talk: Talk) -> None:
    talk.hear("job one", "jute", "the same")
    assert (talk.keys, talk.state.maker) == (["nothing_to_repeat"], {})


def test_a_share_worked_out_is_rounded(talk: Talk) -> None:
    """An inch and a half on ten feet [derived]: 1.25 %; on eight feet 1.5625 %, two places of which are told."""
    talk.hear("job one", "woven", "no figure", "the same", "skip the rest", "eight feet by eight feet", "yes",
              *ROOM, "door left", "door to far", "ready", "one and a half")  # fmt: skip
    assert talk.said[1] == "One point five six per cent. No verdict."
    talk.hear("one and five eighths", "one and an eighth", "yes")
    assert talk.said[1] == "One point one seven per cent. No verdict."


def test_no_verdict_for_woven_without_a_figure(talk: Talk) -> None:
    talk.hear("job one", "woven", "no figure")
    assert talk.keys == ["figure_none"]
    talk.hear("the same")
    assert (talk.keys, talk.state.maker[Direction.CROSS]) == (["noted"], None)
    talk.hear("skip the rest", "eight feet by eight feet", "yes", *ROOM, "door left", "door to far")
    assert talk.keys == ["plan_told", "plan_cautions", "plan_caution", "plan_caution"]
    talk.hear("ready")
    assert talk.asked[-1] == "Pull one. Say what it moved."
    talk.hear("one and a half")
    assert talk.said == ["One and a half inches.", "One point five six per cent. No verdict."]
    talk.hear("hooked")
    assert (talk.keys, talk.asks, talk.state.at) == (["hooked"], "hold", 0)
    talk.hear("one and a quarter")
    assert (talk.keys, talk.asks, talk.state.at) == (["holds", "hold_none"], "pull", 1)


def test_tufted_without_a_figure_keeps_to_the_standard(talk: Talk) -> None:
    assert talk.hear("job one", "tufted synthetic", "no figure").keys == ["figure_default"]


def test_conditions_are_read_back_and_outside_ones_logged(talk: Talk) -> None:
    talk.hear("job one", "tufted", "no figure", "the same", "forty degrees")
    assert talk.said == ["Forty degrees.", "Four zero.", "Outside the published limit. Logged."]
    talk.hear("seventy two percent")
    assert talk.keys == ["humidity_noted_pct", "condition_outside"]
    talk.hear("twelve hours")
    assert talk.keys == ["unrolled_noted_h", "condition_outside"]
    assert talk.asks == "cushion"


def test_celsius(talk: Talk) -> None:
    talk.hear("job one", "tufted", "no figure", "the same", "twenty two degrees celsius")
    assert talk.said == ["Twenty two degrees Celsius."]
    assert talk.state.conditions == {"temperature": Noted(Quantity(Fraction(22), "C"))}


def test_impossible_conditions_are_asked_again(talk: Talk) -> None:
    talk.hear("job one", "tufted", "no figure", "the same", "two hundred degrees")
    assert (talk.keys, talk.state.conditions) == (["temperature_impossible"], {})


def test_a_skipped_condition_is_logged(talk: Talk) -> None:
    talk.hear("job one", "tufted", "no figure", "the same", "skip")
    assert (talk.keys, talk.state.conditions) == (["condition_skipped"], {"temperature": Noted()})


# At the pulls


def test_the_first_pass_opens_with_the_caution(talk: Talk) -> None:
    talk.hear(*SIZED, "ten feet by eight feet", "yes", *ROOM, "door left", "door to far")
    assert talk.keys[0] == "plan_told"
    assert talk.asked == ["Maker's instructions and local codes come first.",
                          "Tie-off, cross pass, to the right wall. Pulls: two.", "Say ready."]  # fmt: skip


def test_a_turn_is_told_between_passes(pulling: Talk) -> None:
    pulling.hear("skip pipe", "skip pipe")
    assert pulling.asked == ["Turn the stretcher.", "Length pass to the far wall. Pulls: eight.", "Say ready."]


def test_a_head_too_far_warns_and_is_kept(pulling: Talk) -> None:
    assert pulling.hear("head two and a half inches").said == ["Head two and a half inches off the wall."]
    pulling.hear("head five inches")
    assert pulling.said == ["Head five inches off the wall.", "Too far, it wrinkles. Bring it within three inches."]
    assert pulling.state.record.head == inches(5)
    assert pulling.hear("head four inches").keys == ["head_set"]
    assert pulling.hear("head thirteen inches").keys == ["head_impossible"]
    assert pulling.state.record.head == inches(4)


def test_a_short_reading_needs_about_two_more(pulling: Talk) -> None:
    pulling.hear("three quarters")
    assert pulling.said == ["Three quarters of an inch.", "Short three quarters of an inch. One more bite."]
    pulling.hear("one inch")
    assert pulling.said[-1] == "Short half an inch. One more bite."
    pulling.hear("one and an eighth")
    assert pulling.said[-1] == "Short three eighths of an inch. About two more bites."
    pulling.hear("one and nine sixteenths")
    assert pulling.said == ["One and nine sixteenths inches.", "In band. Hook it."]


def test_a_reading_of_nothing_has_no_bites_to_count(pulling: Talk) -> None:
    zero = Meaning("reading", (Quantity(Fraction(0), "in"),))
    pulling.take(respond(pulling.state, zero))
    assert pulling.keys == ["read_back", "short"]


def test_over_is_a_caution_not_a_failure(pulling: Talk) -> None:
    pulling.hear("two and a quarter")
    assert pulling.said == ["Two and a quarter inches.", "Over by an eighth of an inch. Ease off."]
    assert pulling.hear("hooked").keys == ["hooked"]


def test_strong_and_light_are_kept_as_words(pulling: Talk) -> None:
    pulling.hear("one and five eighths strong")
    assert pulling.said[0] == "One and five eighths inches strong."
    assert pulling.state.record.readings == (Reading(inches("13/8"), "strong"),)


def test_hooking_may_lose_a_thin_margin(pulling: Talk) -> None:
    pulling.hear("one and three quarters", "hooked", "one and a half")
    assert pulling.keys == ["holds", "hold_in_band"]
    assert pulling.hear("one and five eighths").keys == ["read_back", "in_band_thin"]
    # 1.44 in, the 1/4 in that hooking loses and 1/8 in for the tape: 1 7/8
    assert pulling.hear("one and thirteen sixteenths").keys == ["read_back", "in_band_thin"]
    assert pulling.hear("one and seven eighths").keys == ["read_back", "in_band"]


def test_scratch_that(pulling: Talk) -> None:
    before = pulling.state
    pulling.hear("one and a quarter", "scratch that")
    assert (pulling.said, pulling.turn.ask_again, pulling.state) == (["Scratched."], True, before)
    pulling.hear("one and five eighths", "hooked", "scratch that")
    assert (pulling.asks, pulling.state.record.hooked) == ("pull", False)
    pulling.hear("scratch that")
    assert pulling.state == before


def test_scratching_everything_leads_to_the_first_question(pulling: Talk) -> None:
    for _ in range(40):
        pulling.hear("scratch that")
    assert (pulling.keys, pulling.asks) == (["nothing_to_undo"], "job")
    assert pulling.state.order is not None


def test_doubtful_readings_need_a_yes(pulling: Talk) -> None:
    pulling.hear("six inches")
    assert (pulling.asked, pulling.state.record.readings) == (["Six inches, too much? Yes or no?"], ())
    pulling.hear("no")
    assert (pulling.asks, pulling.state.record.readings) == ("pull", ())
    pulling.hear("one and a half", "one and a quarter")
    assert pulling.asked == ["One and a quarter inches, less now? Yes or no?"]
    pulling.hear("yes")
    assert pulling.said[0] == "One and a quarter inches."
    assert pulling.state.record.reading == inches("5/4")


def test_after_a_slip_a_smaller_reading_is_no_surprise(pulling: Talk) -> None:
    pulling.hear("one and three quarters", "it slipped")
    assert pulling.keys == ["slip_noted"]
    assert pulling.hear("hooked").keys == ["hooked_without_reading"]
    pulling.hear("one and a half")
    assert (pulling.asks, pulling.state.record.reading) == ("pull", inches("3/2"))


def test_hooked_needs_a_reading(pulling: Talk) -> None:
    pulling.hear("hooked")
    assert (pulling.keys, pulling.asks) == (["hooked_without_reading"], "pull")
    assert not pulling.state.record.hooked


def test_hooking_short_needs_a_yes(pulling: Talk) -> None:
    pulling.hear("one inch", "hooked")
    assert (pulling.asked, pulling.state.record.hooked) == (["Still short. Hooked all the same? Yes or no?"], False)
    pulling.hear("no")
    assert (pulling.asks, pulling.state.record.hooked) == ("pull", False)
    pulling.hear("hooked", "yes")
    assert (pulling.keys, pulling.asks, pulling.state.record.hooked) == (["hooked_short"], "hold", True)


def test_a_short_hold_offers_the_pull_again_yes(pulling: Talk) -> None:
    pulling.hear("one and a half", "hooked", "one and three eighths")
    assert pulling.keys == ["holds", "hold_short"]
    assert pulling.asked == ["Pull one again? Yes or no?"]
    pulling.hear("yes")
    assert (pulling.said, pulling.state.at, pulling.asks) == (["Back at pull one."], 0, "pull")
    assert pulling.hear("hooked").keys == ["hooked_without_reading"]
    pulling.hear("one and three quarters", "hooked")
    assert pulling.asks == "hold"


def test_a_short_hold_offers_the_pull_again_no(pulling: Talk) -> None:
    pulling.hear("one and a half", "hooked", "one and three eighths", "no")
    assert (pulling.state.at, pulling.asks) == (1, "pull")
    assert pulling.state.records[0].hold == Reading(inches("11/8"))


def test_a_doubted_figure_that_sounds_like_another_is_spelt_too(talk: Talk) -> None:
    talk.hear("job one", "tufted", "no figure", "the same", "skip the rest", "four metres by three metres sixty",
              "yes", *ROOM, "door left", "door to far", "ready")  # fmt: skip
    talk.hear("thirty millimetres", "thirteen millimetres")
    assert talk.asked == ["Thirteen millimetres, less now? Yes or no?", "One three."]
    talk.hear("no", "fifty millimetres", "hooked", "sixteen millimetres")
    assert talk.asked == ["Sixteen millimetres, so little? Yes or no?", "One six."]
    assert talk.silence().said == ["I heard nothing.", "Sixteen millimetres, so little? Yes or no?"]


def test_a_hold_over_the_reading_is_doubted(pulling: Talk) -> None:
    pulling.hear("one and a half", "hooked", "one and five eighths")
    assert pulling.asked == ["One and five eighths inches, more now? Yes or no?"]
    pulling.hear("yes")
    assert (pulling.keys, pulling.state.at) == (["holds", "hold_in_band"], 1)
    assert pulling.state.records[0].hold == Reading(inches("13/8"))


def test_a_doubted_hold_that_is_short_offers_the_pull_again(pulling: Talk) -> None:
    pulling.hear("one inch", "hooked", "yes", "one and an eighth", "yes")
    assert (pulling.keys, pulling.asked) == (["holds", "hold_short"], ["Pull one again? Yes or no?"])
    assert pulling.state.records[0].hold == Reading(inches("9/8"))


def test_a_skipped_hold_reading_is_logged(pulling: Talk) -> None:
    pulling.hear("one and three quarters", "hooked", "skip")
    assert (pulling.keys, pulling.state.at, pulling.state.records[0].status) == (["hold_skipped"], 1, Status.DONE)


def test_uneven_neighbours_are_named(pulling: Talk) -> None:
    pulling.hear("one and a half", "hooked", "one and a half")
    assert pulling.keys == ["holds", "hold_in_band"]
    pulling.hear("two inches", "hooked", "two inches")
    assert pulling.said[-1] == "Pulls one and two are uneven."


def test_uneven_neighbours_are_named_where_one_stays_short(pulling: Talk) -> None:
    """It is not made again: it stands, and so does what is uneven."""
    pulling.hear("one and three quarters", "hooked", "one and three quarters", "one and three quarters", "hooked")
    pulling.hear("one and three eighths")
    assert pulling.keys == ["holds", "hold_short"]
    asked = pulling.state
    pulling.hear("no")
    assert pulling.said == ["All right.", "Pulls one and two are uneven."]
    assert respond(asked, Meaning("cancel")).lines == pulling.turn.lines
    noted = fold([ev.NoteMade("wrinkle", 2)], asked)
    assert respond(noted, Meaning("no")).lines == pulling.turn.lines


def test_uneven_without_a_hold_reading(talk: Talk) -> None:
    talk.hear("job one", "woven", "no figure", "the same", "skip the rest", "ten feet by ten feet", "yes",
              *ROOM, "door left", "door to far", "ready")  # fmt: skip
    talk.hear("one inch", "hooked", "skip", "one and a half", "hooked", "skip")
    assert talk.said == ["No hold reading. Logged.", "Pulls one and two are uneven."]


def test_a_skip_with_its_reason(pulling: Talk) -> None:
    pulling.hear("skip no strip")
    assert pulling.said == ["Pull one skipped: no strip."]
    assert (pulling.state.at, pulling.state.records[0].skipped) == (1, "no_strip")


def test_a_skip_without_reason_asks_for_it(pulling: Talk) -> None:
    pulling.hear("skip")
    assert (pulling.asks, pulling.asked, pulling.state.at) == ("skip", ["Why skip it?"], 0)
    pulling.hear("cancel that")
    assert (pulling.asks, pulling.state.at) == ("pull", 0)
    pulling.hear("skip", "scratch that")
    assert (pulling.asks, pulling.state.at) == ("pull", 0)
    pulling.hear("skip", "out of reach")
    assert (pulling.state.at, pulling.state.records[0].skipped) == (1, "out_of_reach")
    pulling.hear("scratch that")
    assert (pulling.state.at, pulling.asks, pulling.state.records[0].status) == (0, "pull", Status.TO_COME)


def test_go_back(pulling: Talk) -> None:
    assert pulling.hear("go back").keys == ["nothing_before"]
    pulling.hear("skip pipe", "go back")
    assert (pulling.said, pulling.state.at, pulling.state.record.skipped) == (["Back at pull one."], 0, "")


def test_going_back_drops_a_doubted_reading(pulling: Talk) -> None:
    """Its yes must not land on the pull before."""
    pulling.hear("skip pipe", "six inches", "go back")
    assert (pulling.asks, pulling.state.at, pulling.state.record.readings) == ("pull", 0, ())


def test_notes_belong_to_a_pull(talk: Talk, pulling: Talk) -> None:
    assert talk.hear("note seam").keys == ["nothing_to_note"]
    pulling.hear("note wrinkle", "note seam")
    assert pulling.said == ["Noted: seam at pull one."]
    assert pulling.state.record.notes == ("wrinkle", "seam")


# At any moment


def test_three_misses_lead_to_the_keys_and_never_to_a_fourth_question(talk: Talk) -> None:
    told = [talk.hear("eleven point six feet").said for _ in range(5)]
    assert told == [
        ["Again, please."],
        ["Say: job, then the digits."],
        ["I can't follow. Tap, use the pedal, or say help."],
        [],
        [],
    ]
    assert not talk.turn.ask_again
    assert (talk.asks, talk.state.misses.nomatch) == ("job", 5)
    talk.hear("job one")
    assert talk.hear("job one").keys == ["nomatch"]


def test_silence_is_asked_again_shortly_then_with_what_can_be_said_and_then_no_more(talk: Talk) -> None:
    """VoiceXML practice: noinput has a count of its own, and its prompts grow."""
    told = []
    for _ in range(5):
        assert asks_in_silence(talk.state) == (len(told) < 3)
        told.append(talk.silence().said)
    assert told == [
        ["I heard nothing.", "Job number?"],
        ["Say: job, then the digits."],
        ["I ask no more. Tap, use the pedal, or speak."],
        [],
        [],
    ]
    assert talk.hear("job one").state.misses == Misses()
    assert asks_in_silence(talk.state)


def test_silence_and_noise_are_counted_apart(talk: Talk) -> None:
    """Who thought for a while and then coughed has been misheard once."""
    talk.silence().silence()
    assert talk.hear("mumble").said == ["Again, please."]
    assert talk.silence().keys == ["asks_no_more"]
    assert talk.hear("mumble").keys == ["options_job"]
    assert talk.state.misses == Misses(noinput=3, nomatch=2)


def test_a_pause_is_an_ask_of_its_own(pulling: Talk) -> None:
    """What was misheard at the pull before it must not leave the way out of the pause unsaid."""
    pulling.hear("mumble", "mumble", "mumble", "pause")
    assert pulling.state.misses == Misses()
    assert [pulling.hear("go on").said for _ in range(2)] == [["Again, please."], ["Say: resume."]]


def test_after_a_silence_only_the_question_itself_is_said_again(talk: Talk, pulling: Talk) -> None:
    """The helper's position was called, digits were read: the figure and what is wanted are enough."""
    assert len(pulling.asked) == 2
    assert pulling.silence().said == ["I heard nothing.", pulling.asked[-1]]
    talk.hear("job one", "tufted", "no figure", "the same", "skip the rest", "fifteen feet")
    assert talk.asked == ["Length fifteen feet. Yes or no?", "One five."]
    assert talk.silence().said == ["I heard nothing.", "Length fifteen feet. Yes or no?"]


def test_silence_after_the_last_question_is_nothing(pulling: Talk) -> None:
    while pulling.asks != "close":
        pulling.hear("ready" if pulling.asks == "ready" else "skip doorway")
    assert pulling.hear("finish job").silence().said == ["I heard nothing."]


def test_help_says_what_can_be_said_and_is_no_miss(pulling: Talk) -> None:
    pulling.hear("what can i say")
    assert pulling.said == ["Say: one and a half, hooked, or skip."]
    assert (pulling.state.misses.help, pulling.state.misses.worst) == (1, 0)


def test_pause_hears_only_resume(pulling: Talk) -> None:
    before = pulling.ask
    pulling.hear("pause")
    assert (pulling.asks, pulling.asked) == ("paused", ["Paused. Say resume."])
    pulling.hear("hooked", "one and a half", "scratch that")
    assert pulling.asks == "paused"
    assert pulling.state.record.readings == ()
    pulling.hear("resume")
    assert (pulling.ask, pulling.turn.ask_again) == (before, True)


def test_repeat_says_the_figures_digit_by_digit(pulling: Talk, talk: Talk) -> None:
    pulling.hear("repeat")
    pull = pulling.state.pull
    assert pull is not None
    shown = [spoken.digits(each, System.IMPERIAL).capitalize() + "." for each in (pull.called_position, inches("3/2"))]
    assert (pulling.said, pulling.turn.ask_again) == (shown, True)
    assert (talk.hear("say again").said, talk.turn.ask_again) == ([], True)


def test_where_and_what_is_left(talk: Talk, pulling: Talk) -> None:
    assert talk.hear("what is left").keys == talk.hear("where are we").keys == ["no_plan_yet"]
    assert pulling.hear("where are we").said == ["Pull one, right wall."]
    total = len(pulling.state.records)
    pulling.hear("skip pipe", "what is left")
    assert pulling.turn.lines[0].values == (("count", total - 1),)


@pytest.mark.parametrize("how", ["louder", "quieter", "slower", "faster"])
def test_a_voice_that_is_at_its_end_says_so(talk: Talk, how: str) -> None:
    for _ in range(MOST_STEPS):
        assert talk.hear(how).said == [f"{how.capitalize()}."]
    assert talk.hear(how).said == ["That is as far as it goes."]
    other = {"louder": "quieter", "quieter": "louder", "slower": "faster", "faster": "slower"}[how]
    assert talk.hear(other).said == [f"{other.capitalize()}."]


def test_what_was_skipped_is_no_pull_done(pulling: Talk) -> None:
    while pulling.asks != "close":
        pulling.hear("ready" if pulling.asks == "ready" else "skip pipe")
    assert pulling.asked[-1] == "No pulls left. Walk the edges, then say finish job."


@pytest.mark.parametrize("how", ["louder", "quieter", "slower", "faster"])
def test_the_voice_is_changed_without_touching_the_job(pulling: Talk, how: str) -> None:
    before = pulling.state
    pulling.hear(how)
    assert (pulling.turn.events, pulling.said) == ((ev.VoiceChanged(how),), [f"{how.title()}."])
    assert pulling.state == replace(before, tone=before.tone.changed(how))


def test_nothing_to_cancel(pulling: Talk) -> None:
    assert pulling.hear("cancel that").keys == ["nothing_to_cancel"]


def finished(talk: Talk) -> Talk:
    for _ in range(2 * len(talk.state.records)):
        if talk.asks != "close":
            talk.hear("ready" if talk.asks == "ready" else "skip pipe")
    return talk


def test_closing(pulling: Talk) -> None:
    finished(pulling)
    assert pulling.hear("where are we").said == ["Pulls left: zero."]
    assert pulling.hear("note seam").keys == ["nothing_to_note"]
    pulling.hear("finish job")
    assert pulling.said == ["Keep the climate steady for seventy two hours.", "The job is closed."]
    assert (pulling.ask, pulling.state.finished) == (None, True)
    assert missed(pulling.state, "nomatch").lines[0].key == "nomatch"


def test_options_of_a_closed_job(pulling: Talk) -> None:
    finished(pulling).hear("finish job")
    state = fold([ev.Missed("nomatch")], pulling.state)
    assert [each.key for each in missed(state, "nomatch").lines] == ["job_closed"]


def test_going_back_from_the_end(pulling: Talk) -> None:
    finished(pulling).hear("go back")
    assert (pulling.asks, pulling.state.at) == ("pull", len(pulling.state.records) - 1)


def test_a_stopped_job_is_resumed_at_the_same_question(pulling: Talk) -> None:
    for sentence in (
        "one inch",
        "hooked",
        "yes",
        "one inch",
        "yes",
        "six inches",
        "no",
        "skip",
        "pause",
        "resume",
        "pipe",
    ):
        pulling.hear(sentence)
        again = fold(pulling.events)
        assert (again, next_ask(again)) == (pulling.state, pulling.ask)


# Out of turn: an utterance at a moment no grammar offers it changes nothing.


@pytest.mark.parametrize(
    "act", ["reading", "head", "hold", "hooked", "reason", "ready", "yes", "note", "skip", "skip_rest"]
)
def test_out_of_turn(act: str) -> None:
    state = fold([ev.ConditionsSkipped(KINDS)])
    turn = respond(state, Meaning(act, (Quantity(Fraction(1), "in"),), word="doorway"))
    assert turn.events == ()
    assert fold(turn.events, state) == state


def test_no_plan_without_a_room(new_talk: Callable[[], Talk]) -> None:
    turn = respond(State(), Meaning("lay", word="door_to_far"))
    assert (turn.events, turn.lines) == ((), ())


def test_an_act_no_grammar_has() -> None:
    with pytest.raises(KeyError):
        respond(State(), Meaning("sing"))


def test_metric_positions_are_called_in_centimetres(talk: Talk) -> None:
    talk.hear(*SIZED, "four metres by three metres sixty", "yes", *ROOM, "door left", "door to far", "ready")
    pull = talk.state.pull
    assert pull is not None
    assert (pull.called_position.mm % 10, pull.span) == (0, millimetres(3600))


@pytest.mark.parametrize("event", [ev.ReadingTaken(inches(1), ""), ev.HoldTaken(inches(1), "")])
def test_a_yes_where_no_pull_is_left_settles_in_silence(event: ev.Event) -> None:
    state = fold([ev.Proposed(event, "doubt_large")])
    turn = respond(state, Meaning("yes"))
    assert (turn.events, turn.lines) == ((ev.Confirmed(),), ())
    assert fold(turn.events, state).proposed is None


def test_the_working_target_grows_with_what_hooking_loses(pulling: Talk) -> None:
    # The least stands until a hold reading has shown a loss; then the target is the least and that loss.
    assert pulling.asked[-1].startswith("Pull one. At least ")
    pulling.hear("one and five eighths", "hooked", "one and a half")
    assert pulling.asked[-1].startswith("Pull two. Aim for ")


def test_skipped_pulls_are_named_before_the_job_is_closed(pulling: Talk) -> None:
    for _ in range(40):
        if pulling.asks == "close":
            break
        pulling.hear("skip pipe" if pulling.asks == "pull" else "ready")
    count = len(pulling.state.records)
    assert pulling.asked[0].startswith("Pulls skipped: ")
    assert all(each.skipped == "pipe" for each in pulling.state.records) and count > 2
