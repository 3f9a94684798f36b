"""The tubes in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from assistant.core.kit import Build, Kit, Lack, Shortage, Tube
from assistant.core.length import ZERO, Length, System, feet, inches, millimetres
from assistant.core.line import Line
from assistant.core.tube_talk import call_change, describe, size
from assistant.core.tubes import builds
from assistant.wording import word

if TYPE_CHECKING:
    from conftest import Talk

IMPERIAL, METRIC = System.IMPERIAL, System.METRIC
ONE = Build((Tube(feet(4), 2), Tube(feet(2), 1)), 3, ZERO)
TWO = Build((Tube(feet(4), 3), Tube(inches(18), 2)), 3, ZERO)
LONG = Shortage(Lack.TOO_LONG, inches("49/64"), feet(47), 2)


def said(lines: tuple[Line, ...], system: System = IMPERIAL) -> list[str]:
    return [word(each, system).say for each in lines]


@pytest.mark.parametrize(
    ("length", "system", "words"),
    [
        (feet(4), IMPERIAL, "four foot"),
        (feet(1), IMPERIAL, "one foot"),
        (feet(1, 6), IMPERIAL, "one foot six inch"),
        (inches("37/2"), IMPERIAL, "one foot six and a half inch"),
        (millimetres(2000), METRIC, "two metre"),
        (millimetres(1250), METRIC, "one metre twenty five centimetre"),
        (millimetres(750), METRIC, "seven hundred fifty millimetre"),
    ],
)
def test_sizes_stand_before_the_tube(length: Length, system: System, words: str) -> None:
    assert size(length, system) == words


@pytest.mark.parametrize("system", System)
def test_a_tube_is_named_as_its_owner_measured_it_in_any_room(system: System) -> None:
    """Nobody finds a tube of 'one metre two hundred nineteen millimetres' in a kit of feet."""
    found = describe(Build((Tube(feet(5), 1), Tube(feet(4), 2), Tube(millimetres(600), 1)), 0, ZERO), system)
    assert said(found, system) == ["One five foot tube.", "Two four foot tubes.", "One six hundred millimetre tube."]
    shown = [word(each, system).show for each in found]
    assert shown == ["One tube of 5 ft.", "2 tubes of 4 ft.", "One tube of 600 mm."]


def test_what_to_change_from_the_pull_before() -> None:
    assert said(call_change(ONE, TWO, IMPERIAL)) == [
        "Take off one two foot tube.",
        "Add one four foot tube.",
        "Add two one foot six inch tubes.",
    ]
    assert said(call_change(TWO, ONE, IMPERIAL)) == [
        "Take off one four foot tube.",
        "Take off two one foot six inch tubes.",
        "Add one two foot tube.",
    ]
    assert said(call_change(ONE, Build(ONE.tubes, 4, ZERO), IMPERIAL)) == ["Hole four."]


def test_nothing_is_called_where_nothing_changes() -> None:
    assert call_change(ONE, ONE, IMPERIAL) == ()
    assert call_change(ONE, Build(ONE.tubes, ONE.hole, inches(1)), IMPERIAL) == ()
    assert call_change(LONG, LONG, IMPERIAL) == ()
    assert call_change(ONE, None, IMPERIAL) == ()


def test_the_first_pull_and_the_one_after_a_shortage_call_the_whole_build() -> None:
    whole = ["Two four foot tubes.", "One two foot tube.", "Hole three."]
    assert said(call_change(None, ONE, IMPERIAL)) == whole
    assert said(call_change(LONG, ONE, IMPERIAL)) == whole
    assert said(describe(ONE, IMPERIAL)) == whole


def test_no_tubes_no_hole_no_kit() -> None:
    assert said(describe(Build((), 0, ZERO), IMPERIAL)) == ["No tubes."]
    assert said(describe(Build((), 2, ZERO), IMPERIAL)) == ["No tubes.", "Hole two."]
    assert said(describe(None, IMPERIAL)) == ["No kit is set."]


def test_a_shortage_is_told_in_full_marks_with_the_deadman_proposal() -> None:
    """49/64 in missing is told as 13/16: rounded up, so that what is said is enough."""
    split = "Deadman: two parts, twenty three feet six inches."
    assert said(call_change(ONE, LONG, IMPERIAL)) == ["The tubes are thirteen sixteenths of an inch short.", split]
    shown = [word(each, IMPERIAL).show for each in describe(LONG, IMPERIAL)]
    assert shown == ["The tubes are 13/16 in short.", "Deadman: 2 equal parts of 23 ft 6 in, from the middle."]
    narrow = Shortage(Lack.TOO_SHORT, inches(8), inches(40), 0)
    assert said(describe(narrow, IMPERIAL)) == ["Room too short by eight inches."]
    between = Shortage(Lack.BETWEEN, millimetres(12), millimetres(3000), 1)
    assert said(describe(between, METRIC), METRIC) == ["No hole fits, the nearest is twelve millimetres off."]


def test_builds_are_called_to_the_helper_and_shortages_to_the_installer() -> None:
    assert all(word(each, IMPERIAL).helper for each in call_change(ONE, TWO, IMPERIAL))
    assert not any(word(each, IMPERIAL).helper for each in describe(LONG, IMPERIAL))


def test_a_pass_of_the_default_kit_is_short_to_hear() -> None:
    for each in builds(Kit(), [feet(n) for n in range(2, 60)]):
        for told in said(describe(each, IMPERIAL)):
            assert len(told.split()) <= 12


def test_which_tubes_is_answered_before_the_plan_and_at_a_pull(talk: Talk, pulling: Talk) -> None:
    assert talk.hear("which tubes").keys == ["no_plan_yet"]
    assert pulling.hear("which tubes").said == ["No kit is set."]
    assert pulling.turn.events == ()
