"""The room in rows of text, from the words that told it."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from assistant.core import events as ev
from assistant.core.floor import Opening, OpeningKind
from assistant.core.length import System, feet, inches
from assistant.core.room import Wall
from assistant.core.state import State
from assistant.record.room_rows import room_cautions, room_rows
from assistant.record.telling import tell

if TYPE_CHECKING:
    from conftest import Talk

SIZED = ("job one", "tufted", "no figure", "the same", "skip the rest")
RECTANGLE = (*SIZED, "sixteen feet by twelve feet", "yes")
IMPERIAL = System.IMPERIAL


def test_no_room_has_no_rows() -> None:
    assert room_rows(State()) == room_cautions(State()) == ()


@pytest.mark.parametrize(
    ("sentences", "rows"),
    [
        ((), (("square", "not asked"), ("openings", "not asked"))),
        (("it is square", "no openings"), (("square", "said to be square, not measured"), ("openings", "none"))),
        (("skip", "skip"), (("square", "not checked"), ("openings", "not recorded"))),
        (("diagonal is twenty feet", "yes", "that is all", "left wall hearth from one foot until three feet and "
          "eighteen inches deep", "yes"),
         (("diagonal", "20 ft"), ("square", "the diagonal fits; not all walls measured, so it may not be square"),
          ("opening", "hearth in the left wall, 1 ft to 3 ft, 1 ft 6 in deep"))),
        (("right wall is sixteen feet", "yes", "far wall is twelve feet", "yes", "diagonal is twenty feet", "yes",
          "that is all", "no openings"),
         (("right wall", "16 ft"), ("far wall", "12 ft"), ("diagonal", "20 ft"), ("square", "square, as measured"),
          ("openings", "none"))),
        (("diagonal is twenty feet two", "yes", "that is all", "no openings"),
         (("diagonal", "20 ft 2 in"), ("square", "a far corner is 3 3/8 in off if facing walls are alike"),
          ("openings", "none"))),
        (("right wall is sixteen feet", "yes", "that is all", "no openings"),
         (("right wall", "16 ft"), ("square", "measured sides agree; no diagonal, so how far it leans is not known"),
          ("openings", "none"))),
        (("right wall is sixteen feet two", "yes", "that is all", "no openings"),
         (("right wall", "16 ft 2 in"),
          ("square", "a far corner is 2 in off; no diagonal, so how far it leans is not known"), ("openings", "none"))),
    ],
)  # fmt: skip
def test_a_rectangle(talk: Talk, sentences: tuple[str, ...], rows: tuple[tuple[str, str], ...]) -> None:
    assert room_rows(talk.hear(*RECTANGLE, *sentences).state) == rows


def test_an_outline_has_its_walls_and_its_misclosure(talk: Talk) -> None:
    talk.hear(*SIZED, "wall by wall", "ten feet turn right", "nine feet turn right", "ten feet turn right",
              "nine feet turn right", "yes", "wall two doorway from one foot until four feet", "yes")  # fmt: skip
    assert room_rows(talk.state) == (
        ("wall 1", "10 ft, left side"),
        ("wall 2", "9 ft, far side"),
        ("wall 3", "10 ft, right side"),
        ("wall 4", "9 ft, door side"),
        ("misclosure", "0 in of 2 1/2 in allowed, spread over the walls"),
        ("opening", "doorway in wall 2, 1 ft to 4 ft"),
    )


def test_what_was_skipped_is_a_caution(talk: Talk) -> None:
    talk.hear(*RECTANGLE, "skip", "skip")
    assert [each.text for each in room_cautions(talk.state)] == ["square: not checked", "openings: not recorded"]
    talk.hear("scratch that", "scratch that", "it is square", "no openings")
    assert room_cautions(talk.state) == ()


DOOR = Opening(OpeningKind.DOORWAY, 2, feet(1), feet(4))


@pytest.mark.parametrize(
    ("event", "told"),
    [
        (ev.OutlineBegun(), "wall by wall"),
        (ev.WallSet(feet(4), Fraction(-90), IMPERIAL), "wall 4 ft, turn left"),
        (ev.WallSet(feet(4), Fraction(45), IMPERIAL), "wall 4 ft, bear right 45 degrees"),
        (ev.WallMended(5, feet(4), IMPERIAL), "wall 5 measured again: 4 ft"),
        (ev.OutlineClosed(inches("1/2"), IMPERIAL), "outline closed, 1/2 in off"),
        (ev.SecondSideSet(Wall.FAR, feet(4), IMPERIAL), "far wall: 4 ft"),
        (ev.DiagonalSet(feet(20), IMPERIAL), "diagonal: 20 ft"),
        (ev.SquareSettled("square"), "square, as said"),
        (ev.SquareSettled("measured"), "square: measured"),
        (ev.SquareSettled("skipped"), "square: not checked"),
        (ev.OpeningSet(DOOR, IMPERIAL, "far"), "doorway in the far wall, 1 ft to 4 ft"),
        (ev.OpeningSet(DOOR, IMPERIAL, ""), "doorway in wall 2, 1 ft to 4 ft"),
        (ev.OpeningsSettled("told"), "openings told"),
        (ev.OpeningsSettled("skipped"), "openings: not recorded"),
    ],
)
def test_events_of_the_room_in_words(event: ev.Event, told: str) -> None:
    assert tell(event, IMPERIAL) == told
