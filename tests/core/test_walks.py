"""Random walks through whole jobs: sentences sampled from the present ask's own grammar."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

import pytest

from assistant.core import events as ev
from assistant.core import spoken
from assistant.core.asks import next_ask
from assistant.core.fold import fold
from assistant.core.length import Length, System, inches, millimetres
from assistant.core.line import Line
from assistant.core.outline import Leg
from assistant.speech.grammars import asks, grammar
from assistant.speech.sampler import sample
from assistant.speech.understand import understand

if TYPE_CHECKING:
    from conftest import Talk

FORWARD = {
    "job": ("job one",),
    "construction": ("tufted", "woven", "jute"),
    "figure": ("no figure", "one to two percent", "at least one percent"),
    "temperature": ("seventy degrees", "skip"),
    "humidity": ("fifty percent", "skip"),
    "unrolled": ("thirty hours", "skip"),
    "cushion": ("seven sixteenths", "no cushion", "eleven millimetres"),
    "strip": ("one row", "wide strip"),
    "gully": ("three eighths", "skip the rest"),
    "slab_humidity": ("seventy percent", "no slab"),
    "slab_ph": ("nine point two p h", "skip"),
    "size": ("nine feet two", "two metres eighty", "eight feet by six feet", "ten feet and a half inch",
             "wall by wall"),
    "square": ("it is square", "skip", "diagonal is twelve feet", "that is all"),
    "openings": ("no openings", "skip", "far wall doorway from one foot until three feet"),
    "confirm": ("yes", "no"),
    "corner": ("door left", "far right"),
    "lay": ("door to far", "left to right"),
    "ready": ("ready",),
    "skip": ("doorway",),
    "paused": ("resume",),
    "close": ("finish job",),
}  # fmt: skip


def next_wall(legs: tuple[Leg, ...]) -> str:
    """A room of ten feet by ten; whatever else was said before is scratched."""
    if any(each != Leg(inches(120), Fraction(90)) for each in legs) or len(legs) > 4:
        return "scratch that"
    return "that closes it" if len(legs) == 4 else "ten feet turn right"


def forward(talk: Talk, dice: Random) -> str:
    """A sentence that brings the job on."""
    ask, pull = talk.asks, talk.state.pull
    if ask == "wall":
        return next_wall(talk.state.legs or ())
    if ask not in ("pull", "hold") or pull is None:
        return dice.choice(FORWARD[ask])
    if ask == "pull" and talk.state.record.reading is not None and not talk.state.record.slipped:
        return "hooked"
    moved = inches(1) if talk.state.tape is System.IMPERIAL else millimetres(25)
    wanted = spoken.length(moved if pull.band is None else pull.band.tape_least, talk.state.tape)
    known = understand(wanted, grammar(ask)) is not None
    return wanted if known else {"pull": "skip out of reach", "hold": "skip"}[ask]


def answer(talk: Talk, sentence: str) -> None:
    """Every question is one that can be heard, every line has its words, every event folds the same again."""
    talk.hear(sentence)
    assert all(said or each.key == "plan_caution" for said, each in zip(talk.said, talk.turn.lines, strict=True))
    if talk.ask is not None:
        assert talk.asks in asks()
        assert all(talk.asked)


@pytest.mark.parametrize("seed", range(200))
def test_a_job_always_reaches_its_end(new_talk: Callable[[], Talk], seed: int) -> None:
    dice, talk = Random(seed), new_talk()
    for _ in range(60):
        if talk.ask is not None:
            wild = dice.random() < 0.5
            answer(talk, sample(grammar(talk.asks), dice) if wild else forward(talk, dice))
    confirm = Random(1)
    for _ in range(1500):
        if talk.ask is not None:
            answer(talk, "skip pipe" if talk.asks == "pull" else forward(talk, confirm))
    assert talk.ask is None
    assert talk.state.finished
    assert talk.state.left == 0
    again = fold(talk.events)
    assert (again, next_ask(again)) == (talk.state, None)


@pytest.mark.parametrize("seed", range(20))
def test_sizes_and_makers_figures_stand_only_after_a_yes(new_talk: Callable[[], Talk], seed: int) -> None:
    dice, talk = Random(seed), new_talk()
    for _ in range(80):
        if talk.ask is None:
            break
        before, ask = talk.state, talk.asks
        talk.hear(sample(grammar(ask), dice) if dice.random() < 0.5 else forward(talk, dice))
        settled = any(isinstance(each, ev.Confirmed | ev.Scratched) for each in talk.turn.events)
        assert settled or talk.state.sides == before.sides
        new = [each for name, each in talk.state.maker.items() if each is not None and name not in before.maker]
        assert settled or new == []


def lengths(lines: tuple[Line, ...]) -> list[Length]:
    return [value for each in lines for _, value in each.values if isinstance(value, Length)]


@pytest.mark.parametrize("seed", range(10))
def test_figures_asked_for_can_be_said_back(new_talk: Callable[[], Talk], seed: int) -> None:
    """What the assistant says to pull at least is understood as that figure at the pull."""
    dice, talk = Random(seed), new_talk()
    checked = 0
    for _ in range(150):
        if talk.ask is None:
            break
        if talk.asks == "pull" and talk.state.pull is not None and talk.state.pull.band is not None:
            least = talk.state.pull.band.tape_least
            assert least in lengths(talk.ask.lines)
            meaning = understand(spoken.length(least, talk.state.tape), grammar("pull"))
            assert meaning is not None and Length.of(meaning.quantities[0]) == least
            checked += 1
        talk.hear("yes" if talk.asks == "confirm" else forward(talk, dice))
    assert checked or talk.state.maker.values()
