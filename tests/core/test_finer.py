"""Figures finer than the tape's marks: said back as they were said, and limits rounded to their safe side."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from assistant.core.kit import Lack, Shortage
from assistant.core.length import System, feet, inches, millimetres
from assistant.core.traverse import Misclosure
from assistant.core.tube_talk import describe
from assistant.screen import pull_view
from assistant.screen.offer_view import written
from assistant.speech.grammars import grammar
from assistant.speech.understand import candidates
from assistant.wording import word
from tests.core.test_offers import METRIC

if TYPE_CHECKING:
    from conftest import Talk


@pytest.fixture
def at_a_pull(talk: Talk) -> Talk:
    """3.6 m: at least 36 mm, at most 54."""
    return talk.hear(*METRIC)


def shown(talk: Talk) -> list[str]:
    return [word(each, talk.state.tape).show for each in talk.turn.lines]


def test_a_tenth_short_is_not_said_to_be_the_least(at_a_pull: Talk) -> None:
    at_a_pull.hear("three point five nine centimetres")
    assert at_a_pull.said == ["Thirty five point nine millimetres.", "Short one millimetre. One more bite."]
    assert shown(at_a_pull) == ["35.9 mm.", "Short 1 mm. One more bite."]
    assert at_a_pull.state.pull is not None
    assert pull_view.content(at_a_pull.state, at_a_pull.state.pull).value == "35.9 mm"
    assert pull_view.last(at_a_pull.state) == "read 35.9 mm"


def test_a_tenth_over_is_not_said_to_be_the_most(at_a_pull: Talk) -> None:
    at_a_pull.hear("five point four one centimetres")
    assert at_a_pull.said == ["Fifty four point one millimetres.", "Over by one millimetre. Ease off."]


def test_a_hold_reading_likewise(at_a_pull: Talk) -> None:
    at_a_pull.hear("four centimetres", "hooked", "three point five nine centimetres")
    assert at_a_pull.said[0] == "Holds thirty five point nine millimetres."
    assert "Short after hooking." in at_a_pull.said


def test_a_doubted_one_is_asked_about_as_it_was_said(at_a_pull: Talk) -> None:
    at_a_pull.hear("nine point zero one centimetres")
    assert at_a_pull.asked[0] == "Ninety point one millimetres, too much? Yes or no?"
    assert at_a_pull.asked[1] == "Nine zero point one."


def test_the_head_is_brought_within_a_mark_that_is_not_beyond_the_limit(at_a_pull: Talk) -> None:
    """Three inches are 76.2 mm; what is warned about is over four, 101.6."""
    at_a_pull.hear("head one hundred two millimetres")
    assert at_a_pull.said[-1] == "Too far, it wrinkles. Bring it within seventy six millimetres."


def test_two_sentences_a_tenth_apart_are_told_apart(at_a_pull: Talk) -> None:
    both = candidates(("three point five nine centimetres", "thirty six millimetres"), grammar("pull"))
    assert written(both) == ("35.9 mm", "36 mm")


def test_parts_keep_to_the_marks() -> None:
    """A deadman is laid to a mark."""
    split = describe(Shortage(Lack.TOO_LONG, inches(1), feet(14, "1/16"), 2), System.IMPERIAL)
    assert word(split[1], System.IMPERIAL).show.count("7 ft 1/16 in") == 1
    assert dict(split[1].values)["part"].per(inches(1)).denominator == 16  # type: ignore[union-attr]


def test_a_room_is_told_as_it_was_typed(talk: Talk) -> None:
    assert word_of("3.6425 m") == "three metres six hundred forty two point five millimetres"
    assert word_of("12 ft 3 5/32 in") == "twelve feet three and five thirty seconds inches"
    assert word_of("12.1 ft") == "twelve feet one point two inches"


def word_of(typed: str) -> str:
    from assistant.core import spoken
    from assistant.units import read_length

    return spoken.length(*read_length(typed))


def test_what_closes_is_never_told_to_be_more_than_is_allowed() -> None:
    within = Misclosure(Fraction("2.51"), Fraction(0), inches("41/16"), inches("2.52"), 1)
    assert within.told(System.IMPERIAL) == "2 1/2 in of 2 1/2 in allowed"
    beyond = Misclosure(Fraction("2.53"), Fraction(0), inches("41/16"), inches("2.52"), 1)
    assert beyond.told(System.IMPERIAL) == "2 9/16 in of 2 1/2 in allowed"
    metric = Misclosure(Fraction("2.5"), Fraction(0), inches("5/2"), inches("2.504"), 1)
    assert metric.told(System.METRIC) == "64 mm of 64 mm allowed", "63.5 and 63.6"


def test_nothing_is_finer_than_that() -> None:
    assert millimetres(Fraction(1, 3)).told(System.METRIC) == millimetres(0)
