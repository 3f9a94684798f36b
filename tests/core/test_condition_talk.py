"""The day's conditions by words: each asked in turn, read back, skippable, never a block."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from assistant.core import events as ev
from assistant.core.conditions import KINDS, Noted
from assistant.core.fold import fold
from assistant.core.length import System, feet
from assistant.core.meaning import Meaning, Quantity
from assistant.core.room import Corner
from assistant.core.session import respond
from assistant.core.state import State

if TYPE_CHECKING:
    from conftest import Talk

CARPET = ("job one", "tufted", "no figure", "the same")
CORNER = ev.CornerChosen(Corner.DOOR_LEFT)
LAY = Meaning("lay", word="door_to_far")
DAY = {
    "temperature": "seventy degrees",
    "humidity": "fifty percent",
    "unrolled": "thirty hours",
    "cushion": "three eighths",
    "strip": "one row",
    "gully": "a quarter",
    "slab_humidity": "seventy percent",
    "slab_ph": "eight p h",
}


def at(talk: Talk, kind: str, carpet: tuple[str, ...] = CARPET) -> Talk:
    """The talk brought to the question of `kind`."""
    talk.hear(*carpet)
    for each in KINDS[: KINDS.index(kind)]:
        if talk.asks == each:
            talk.hear(DAY[each])
    assert talk.asks == kind
    return talk


def test_each_is_asked_in_turn(talk: Talk) -> None:
    talk.hear(*CARPET)
    seen = []
    for sentence in DAY.values():
        seen.append(talk.asks)
        talk.hear(sentence)
    assert (tuple(seen), talk.asks) == (KINDS, "size")
    assert all(each.recorded for each in talk.state.conditions.values())


@pytest.mark.parametrize("kind", KINDS)
def test_each_is_skippable_and_logged(talk: Talk, kind: str) -> None:
    at(talk, kind).hear("skip")
    assert talk.said == ["Skipped. Logged as not recorded."]
    assert talk.turn.events == (ev.ConditionNoted(kind, None),)
    assert (talk.state.conditions[kind], talk.asks == kind) == (Noted(), False)
    talk.hear("scratch that")
    assert talk.asks == kind


@pytest.mark.parametrize("kind", KINDS)
def test_the_rest_is_skipped_at_once_and_taken_back_at_once(talk: Talk, kind: str) -> None:
    before = at(talk, kind).state
    left = KINDS[KINDS.index(kind) :]
    talk.hear("skip the rest")
    assert (talk.turn.events, talk.asks) == ((ev.ConditionsSkipped(left),), "size")
    assert all(talk.state.conditions[each] == Noted() for each in left)
    assert talk.said[0].startswith("Skipped: ")
    assert talk.hear("scratch that").state == before


@pytest.mark.parametrize(
    ("kind", "sentence", "said"),
    [
        ("cushion", "seven sixteenths", ["Cushion seven sixteenths of an inch.", "A note is on the screen."]),
        ("cushion", "three eighths inch", ["Cushion three eighths of an inch."]),
        ("cushion", "nine millimetres", ["Cushion nine millimetres."]),
        ("cushion", "eleven millimetres", ["Cushion eleven millimetres.", "A note is on the screen."]),
        ("cushion", "half inch", ["Cushion half an inch.", "Outside the published limit. Logged."]),
        (
            "cushion",
            "thirteen millimetres",
            ["Cushion thirteen millimetres.", "One three.", "Outside the published limit. Logged."],
        ),
        ("cushion", "no cushion", ["No cushion."]),
        ("strip", "one row", ["One row of strip."]),
        ("strip", "two rows", ["Two rows of strip."]),
        ("strip", "wide strip", ["Wide strip."]),
        ("gully", "three eighths", ["Gully three eighths of an inch."]),
        ("gully", "seven sixteenths", ["Gully seven sixteenths of an inch.", "Outside the published limit. Logged."]),
        ("gully", "nine millimetres", ["Gully nine millimetres."]),
        ("gully", "ten millimetres", ["Gully ten millimetres.", "Outside the published limit. Logged."]),
        ("slab_humidity", "seventy percent", ["Slab seventy per cent.", "Seven zero."]),
        (
            "slab_humidity",
            "seventy six percent",
            ["Slab seventy six per cent.", "Outside the published limit. Logged."],
        ),
        ("slab_humidity", "no slab", ["No slab."]),
        ("slab_ph", "nine p h", ["P H nine."]),
        ("slab_ph", "nine point two five p h", ["P H nine point two five.", "Outside the published limit. Logged."]),
        (
            "slab_ph",
            "thirteen point five p h",
            ["P H thirteen point five.", "One three point five.", "Outside the published limit. Logged."],
        ),
        ("unrolled", "eighty hours", ["Hours unrolled: eighty.", "Eight zero.", "A note is on the screen."]),
    ],
)
def test_each_is_read_back(talk: Talk, kind: str, sentence: str, said: list[str]) -> None:
    at(talk, kind).hear(sentence)
    assert talk.said == said
    assert talk.state.conditions[kind].recorded


@pytest.mark.parametrize(
    ("kind", "sentence"),
    [
        ("temperature", "one hundred forty degrees"),
        ("humidity", "one hundred five percent"),
        ("cushion", "fifty one millimetres"),
        ("gully", "fifty one millimetres"),
        ("slab_humidity", "one hundred five percent"),
        ("slab_ph", "fifteen p h"),
    ],
)
def test_what_cannot_be_is_asked_again(talk: Talk, kind: str, sentence: str) -> None:
    at(talk, kind).hear(sentence)
    assert (talk.keys, talk.asks, talk.turn.ask_again) == ([f"{kind}_impossible"], kind, True)
    assert kind not in talk.state.conditions


def test_what_the_screen_shows_is_exact(talk: Talk) -> None:
    at(talk, "slab_ph").hear("ten point two five p h")
    assert dict(talk.turn.lines[0].values)["shown"] == "10.25"
    assert dict(talk.turn.lines[1].values)["text"] == "slab at pH 10.25: at most 9 asked"


def test_an_attached_cushion_is_not_asked_for(talk: Talk) -> None:
    at(talk, "unrolled", ("job one", "attached cushion", "at least one percent", "yes", "the same", "yes"))
    assert talk.hear("thirty hours").asks == "strip"


def test_where_there_is_no_slab_its_ph_is_not_asked(talk: Talk) -> None:
    at(talk, "slab_humidity").hear("no slab")
    assert (talk.asks, "slab_ph" in talk.state.conditions) == ("size", False)
    assert talk.state.conditions["slab_humidity"] == Noted(word="no_slab")


@pytest.mark.parametrize(
    ("strip", "told"), [("one row", True), ("two rows", False), ("wide strip", False), ("skip", True)]
)
def test_one_row_of_strip_on_a_long_span(talk: Talk, strip: str, told: bool) -> None:
    at(talk, "strip").hear(strip, "skip the rest")
    sides = ev.SidesSet(feet(31), feet(12), System.IMPERIAL)
    state = fold([sides], talk.state)
    found = [dict(each.values) for each in respond(fold([CORNER], state), LAY).lines if each.key == "plan_caution"]
    texts = [str(each["text"]) for each in found if "wide strip or two rows" in str(each["text"])]
    assert bool(texts) is told
    assert all(each.startswith("one row of strip is down; ") is (strip == "one row") for each in texts)


def test_a_begun_room_is_past_the_days_conditions(new_talk: Callable[[], Talk]) -> None:
    """Logs of older versions know three conditions; resumed, they go on where they stopped."""
    old = [ev.ConditionNoted(kind, Quantity(Fraction(50), "pct")) for kind in KINDS[:3]]
    state = fold([*old, ev.SidesSet(feet(12), feet(10), System.IMPERIAL)])
    assert state.conditions_waiting == ()
    assert fold(old).conditions_waiting == KINDS[3:]
    assert respond(state, Meaning("skip_rest")).events == ()


def test_a_condition_may_come_in_any_state() -> None:
    turn = respond(State(), Meaning("strip", word="wide"))
    assert fold(turn.events).conditions == {"strip": Noted(word="wide")}
