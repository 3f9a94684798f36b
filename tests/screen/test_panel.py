"""The panel of every ask: what is asked, what is large, the verdict, where we are; and that any screen can have it."""

import json
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core.asks import next_ask
from assistant.core.length import Length, System
from assistant.core.spoken import length
from assistant.practice.rehearsal import Rehearsal, doubted, shots
from assistant.screen.badge import Badge
from assistant.screen.choices import asks, hint, title
from assistant.screen.panel import Content, Panel, Place
from assistant.screen.plain import lines_of
from assistant.screen.view import Exchange, panel_of
from assistant.wording import Wording, messages
from tests.conftest import SETUP, Talk

SHOTS = {each.name: each.panel for each in shots()}


def test_the_share_without_a_verdict_is_the_one_that_is_said() -> None:
    setup = (*SETUP[:1], "woven", *SETUP[2:])
    panel = Rehearsal().say(*setup, "one and a quarter")
    assert panel.answers == ("1 1/4 in.", "0.87 per cent. No verdict.")
    assert panel.content.badge is not None and panel.content.badge.more == "0.87 %"


@pytest.mark.parametrize(
    ("said", "value", "beside"),
    [
        ("pattern plus three sixteenths percent", "0.1875", "Pattern plus per cent"),
        ("pattern plus five sixteenths percent", "0.3125", "Pattern plus per cent"),
        ("pattern plus one point two five percent", "1.25", "Pattern plus per cent"),
        ("one to two percent", "1 to 2", "per cent"),
    ],
)
def test_a_figure_waits_for_its_yes_as_large_as_it_was_said(said: str, value: str, beside: str) -> None:
    panel = Rehearsal().say("job one", "woven", said)
    assert panel.content == Content("Yes or no?", value, beside=beside)


def at_the_pull(*more: str) -> Panel:
    return Rehearsal().say(*SETUP, *more)


def test_every_ask_has_its_panel() -> None:
    assert {each.ask for each in SHOTS.values()} == {*asks(), ""}
    for name, each in SHOTS.items():
        if name == "closed":
            continue
        assert each.content.value, name
        assert each.question, name
        assert each.keys, name
        assert each.listed[: len(each.keys) - 1] == each.keys[:-1] or each.ask in ("paused", "choose"), name


def test_every_question_has_a_short_title_and_every_title_a_question() -> None:
    asked = {key for key in messages() if key.startswith("ask_")}
    assert not {key for key in asked if not title(key)}
    assert all(len(title(key).split()) <= 4 for key in asked)
    assert hint("ask_gully") == "strip to wall"
    assert hint("yes_or_no") == ""


@pytest.mark.parametrize("name", SHOTS)
def test_a_panel_is_plain_values(name: str) -> None:
    """Nothing is lost on the way to a screen in another process."""
    panel = SHOTS[name]
    plain = json.loads(panel.as_json())
    assert plain["turn"] == panel.turn
    assert plain["content"]["value"] == panel.content.value
    assert [each["label"] for each in plain["keys"]] == [each.label for each in panel.keys]
    assert not any(isinstance(each, ev.Event) for each in vars(panel).values())  # type: ignore[misc, arg-type]


def test_before_the_first_reading_the_target_and_the_position_are_seen() -> None:
    panel = at_the_pull()
    assert panel.content == Content("Pull 1 at least", "1 1/2 in", None, "Position 11 1/2 in")
    assert panel.target == "least 1 1/2 in, most 2 1/8 in"
    assert panel.last == ""
    assert panel.place == Place("427", 1, 3, 1, 17, 17, "right wall")
    assert str(panel.place) == "Job 427   pass 1 of 3   pull 1 of 17   right wall"


@pytest.mark.parametrize(
    ("said", "content"),
    [
        (["three quarters"], Content("Another bite", "3/4 in", Badge("short", "down", "short", "3/4 in"))),
        (["a half", "three quarters"], Content("2 more bites", "3/4 in", Badge("short", "down", "short", "3/4 in"))),
        (["inch and a half"], Content("Hook it", "1 1/2 in", Badge("in band", "disc", "in_band"))),
        (["two and a half inches"], Content("Ease off", "2 1/2 in", Badge("over", "up", "over", "3/8 in"))),
    ],
)
def test_a_reading_is_seen_with_its_verdict_and_what_to_do(said: list[str], content: Content) -> None:
    assert at_the_pull(*said).content == content


DONE = {
    "hook it": {"in_band", "over_holds", "over_nearest"},
    "one more bite": {"in_band_thin", "over_thin"},
    "ease off": {"over"},
}


@settings(max_examples=30)
@given(
    st.booleans(),
    st.lists(st.tuples(st.integers(16, 47), st.integers(0, 12)), max_size=2),
    st.lists(st.integers(16, 47), min_size=1, max_size=3),
)
def test_what_the_screen_says_to_do_is_what_the_voice_says(
    narrow: bool, learnt: list[tuple[int, int]], read: list[int]
) -> None:
    """Whatever was lost before, whatever was read before, eased or not, in a wide band and in one without a mark."""
    setup = [each for each in SETUP for each in ((NARROW, "yes") if narrow and each == "no figure" else (each,))]
    if narrow:
        setup.insert(setup.index("the same") + 1, "yes")
    talk = Talk().hear(*setup)
    for moved, lost in learnt:
        _say(talk, moved)
        _certainly(talk, "hooked")
        if talk.asks == "hold":
            _say(talk, max(moved - lost, 1))
        if talk.asks == "confirm":
            talk.hear("yes")
    for moved in read if talk.asks == "pull" else ():
        _say(talk, moved)
        panel, keys = panel_of(talk.state), set(talk.keys)
        expected = DONE.get(panel.content.instruction.lower(), {"short", "short_bites", "short_one_bite"})
        assert keys & expected, (moved, panel.content, keys)


NARROW = "one and a half to one and a half percent"


def _say(talk: Talk, sixteenths: int) -> None:
    _certainly(talk, length(Length(Fraction(sixteenths, 16)), System.IMPERIAL))


def _certainly(talk: Talk, sentence: str) -> None:
    """Said, and a doubt about it answered."""
    talk.hear(sentence)
    if talk.asks == "confirm" and not isinstance(talk.state.proposed, ev.PullReopened):
        talk.hear("yes")


def test_after_a_slip_the_old_reading_is_no_longer_the_value() -> None:
    panel = at_the_pull("one inch", "it slipped")
    assert panel.content.badge is None
    assert panel.content.value == "1 1/2 in"
    assert panel.last == "read 1 in"


def test_hooked_and_still_to_be_measured() -> None:
    panel = at_the_pull("inch and a half", "hooked")
    assert panel.ask == "hold"
    assert panel.content == Content("Pull 1 hooked", "Holds?", None, "was 1 1/2 in")


def test_the_pull_before_is_told_with_its_verdict_until_the_next_reading() -> None:
    assert at_the_pull("inch and a half", "hooked", "inch and a half").last == "pull 1 holds 1 1/2 in ● in band"
    assert at_the_pull("skip doorway").last == "pull 1 skipped"


def test_without_a_figure_there_is_no_verdict_and_it_is_seen_as_such() -> None:
    setup = ["jute" if each == "tufted" else each for each in SETUP]
    job = Rehearsal()
    assert job.say(*setup).content == Content("Say what it moved", "Pull 1", None, "Position 11 1/2 in")
    content = job.say("inch and a half").content
    assert content == Content("Pull 1 moved", "1 1/2 in", Badge("no verdict", "diamond", "no_verdict", "1.04 %"))


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("confirm", Content("Yes or no?", "16 ft 2 in", None, "Length")),
        ("confirm_opening", Content("Yes or no?", "3 ft - 5 ft 6 in", None, "Door wall doorway")),
        ("confirm_short", Content("Yes or no?", "Hooked short?")),
    ],
)
def test_what_waits_for_a_yes_is_large(name: str, content: Content) -> None:
    assert SHOTS[name].content == content


def test_both_sides_and_a_figure_wait_for_a_yes() -> None:
    job = Rehearsal()
    job.say(*SETUP[:2])
    assert job.say("one to one point five percent").content == Content("Yes or no?", "1 to 1.5", None, "per cent")
    both = Rehearsal().say(*SETUP[:11], "fourteen feet by twelve feet").content
    assert both == Content("Yes or no?", "14 ft x 12 ft", None, "Length")
    metric = Rehearsal().say(*SETUP[:11], "three metres sixty by four metres").content
    assert metric == Content("Yes or no?", "3.6 m x 4 m", None, "Length")
    again = at_the_pull("inch and a half", "hooked", "one inch").content
    assert again == Content("Yes or no?", "Pull 1 again?")


def test_the_question_itself_is_not_told_as_an_answer() -> None:
    panel = at_the_pull("inch and a half")
    assert panel.answers == ("1 1/2 in.", "In band. Hook it.")
    assert at_the_pull().answers == (), "the first pull's call-out is the question"
    assert panel.heard == "inch and a half"
    assert "At least" in panel.question


def test_what_is_only_shown_is_a_note() -> None:
    assert SHOTS["ready_notes"].notes
    assert all(each.startswith("Caution") for each in SHOTS["ready_notes"].notes)


def test_misses_are_counted_and_help_opens_the_list() -> None:
    assert at_the_pull("mumble").misses == 1
    assert not at_the_pull("mumble").understood
    assert at_the_pull("mumble", "mumble", "mumble").misses == 3
    assert at_the_pull("help").misses == 2
    assert at_the_pull("mumble", "one inch").misses == 0


def test_the_room_shows_what_is_done_now_skipped_and_to_come() -> None:
    room = at_the_pull("skip doorway", "inch and a half", "hooked", "inch and a half", "ready").room
    assert room is not None
    assert [each.stands for each in room.pulls[:4]] == ["skipped", "done", "now", "to come"]
    assert room.corners == ((0.0, 0.0), (0.0, 174.0), (144.0, 174.0), (144.0, 0.0))


def test_a_doorway_a_hearth_and_pads_on_the_rooms_tape() -> None:
    openings = ["left wall hearth from five feet until eight feet and one foot six deep", "yes"]
    openings += ["door wall doorway from two feet until five feet", "yes", "that is all"]
    panel = Rehearsal().say(*SETUP[:16], *openings)
    assert panel.room is not None
    assert (len(panel.room.gaps), len(panel.room.bare)) == (1, 1)
    assert panel.room.pulls == ()
    assert at_the_pull().pad("reading").units == ("in",)


def test_a_closed_job_shows_its_code() -> None:
    talk = Talk().hear(*SETUP)
    while talk.asks != "close":
        talk.hear("ready" if talk.asks == "ready" else "skip doorway")
    talk.hear("finish job")
    assert next_ask(talk.state) is None
    panel = panel_of(talk.state, Exchange(9, "finish job", True, (Wording("a", "A.", False),), "four words"))
    assert (panel.ask, panel.keys, panel.code) == ("", (), "four words")
    assert panel.content == Content("Job closed", "Done", None, "Note down the code")
    assert panel.answers == ("A.",)


def test_an_outline_names_walls_by_their_number() -> None:
    walls = ("job one", "woven", "no figure", "no figure", "skip the rest", "wall by wall")
    legs = ("twelve feet turn right", "ten feet turn right", "twelve feet turn right", "ten feet turn right")
    job = Rehearsal()
    assert job.say(*walls).content.value == "Wall 1?"
    panel = job.say(*legs, "that closes it", "yes", "no openings", "door left", "door to far", "ready")
    assert panel.place.wall.startswith("wall ")


SAY = "the first or second"


@pytest.mark.parametrize(
    ("texts", "at", "content", "labels"),
    [
        (
            ("fifteen millimetres", "fifty millimetres"),
            16,
            Content("Which one?", "15 mm / 50 mm", beside=SAY),
            ("15 mm", "50 mm"),
        ),
        (("hooked", "it slipped"), 16, Content("", "Which one?", beside=SAY), ("Hooked", "It slipped")),
        (
            ("one inch strong", "one inch light"),
            16,
            Content("", "Which one?", beside=SAY),
            ("One inch strong", "One inch light"),
        ),
        (("job one four", "job one five"), 0, Content("Which one?", "14 / 15", beside=SAY), ("14", "15")),
        (("two percent", "skip"), 5, Content("", "Which one?", beside=SAY), ("Two percent", "Skip")),
    ],
)
def test_what_is_offered_is_drawn_large_and_stands_on_the_keys(
    texts: tuple[str, ...], at: int, content: Content, labels: tuple[str, ...]
) -> None:
    panel = doubted(*texts, at=at)
    assert panel.ask == "choose"
    assert panel.content == content
    assert tuple(each.label for each in panel.keys) == (*labels, "Neither")
    assert [each.say for each in panel.keys] == ["the first", "the second", "neither"]
    assert panel.understood, "it is asked about: no miss"


def test_a_room_that_closes_waits_for_its_yes() -> None:
    walls = ["wall by wall", *["ten feet turn right"] * 3]
    exact = Rehearsal().say(*SETUP[:11], *walls, "ten feet turn right").content
    assert exact == Content("Yes or no?", "Closes exactly")
    within = Rehearsal().say(*SETUP[:11], *walls, "ten feet and a half inch turn right").content
    assert within == Content("Yes or no?", "1/2 in", beside="Closes within")


def test_paused_at_a_choice_only_resume_is_offered() -> None:
    job = Rehearsal()
    job.say(*SETUP)
    job.doubtful("fifteen sixteenths", "one and a half")
    panel = job.say("pause")
    assert (panel.ask, [each.label for each in panel.keys]) == ("paused", ["Resume"])
    assert [each.label for each in job.say("resume").keys] == ["15/16 in", "1 1/2 in", "Neither"]


def test_one_sentence_alone_is_drawn_with_yes_and_no() -> None:
    panel = doubted("it slipped")
    assert (panel.ask, panel.content) == ("confirm", Content("Yes or no?", "It slipped", beside="as it was heard"))
    assert [each.label for each in panel.keys[:2]] == ["Yes", "No"]
    long = doubted("tufted synthetic", at=1).content
    assert long == Content("Yes or no?", "Tufted synthetic", beside="as it was heard")
    longer = doubted("job one two three four five", at=0).content
    assert longer.value == "12345"
    assert doubted("far wall is three metres fifty", at=11).ask == "confirm"


def test_the_choice_in_plain_lines() -> None:
    told = list(lines_of(doubted("fifteen millimetres", "fifty millimetres")))
    assert told[-2:] == [
        "1: fifteen millimetres. One five. 2: fifty millimetres. Five zero. The first, the second, or neither?",
        "Type k1, k2, k3 or the words: k1 15 mm, k2 50 mm, k3 Neither",
    ]
