"""The kit: what it measures, and one clear line for each way it cannot be."""

from typing import Any

import pytest

from assistant.core.kit import MOST_PIECES, Build, Kit, KitError, Tube
from assistant.core.length import ZERO, Length, feet, inches, millimetres


def test_the_default_kit_reaches_from_a_passage_to_a_long_room() -> None:
    """Sizes of our own (design choice); by hand: 24 + 3 + 18 + 2 in bare, 1 1/2 in of window, 29 ft of tubes, 15 in."""
    kit = Kit()
    assert (kit.bare, kit.least, kit.most) == (inches(47), inches("91/2"), inches("91/2") + feet(29) + inches(18))
    assert (kit.holes, kit.pieces) == (6, 9)


def test_tubes_stand_longest_first_whatever_order_they_come_in() -> None:
    assert Kit(tubes=(Tube(feet(1), 2), Tube(feet(4), 1))).tubes == (Tube(feet(4), 1), Tube(feet(1), 2))


def test_a_kit_may_be_one_fixed_piece() -> None:
    kit = Kit(tubes=(), extension_least=inches(20), extension_most=inches(20))
    assert (kit.holes, kit.pieces, kit.most - kit.least) == (1, 0, kit.window * 2)


def test_a_build_counts_its_tubes() -> None:
    assert Build((Tube(feet(4), 2), Tube(feet(1), 1)), 3, ZERO).pieces == 3
    assert Build((), 1, ZERO).pieces == 0


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"head": inches(2)}, "kit.head: 2 in must be from 6 in to 10 ft"),
        ({"head": feet(40)}, "kit.head: 40 ft must be from 6 in to 10 ft"),
        ({"travel": ZERO}, "kit.travel: 0 in must be from 1/2 in to 2 ft"),
        ({"tail": millimetres(700)}, "kit.tail: 700 mm must be from 1/16 in to 2 ft"),
        ({"tail": inches("1/3") * 4}, "kit.tail: about 1 5/16 in lies between the tape's marks"),
        ({"window": inches(4)}, "kit.window: 4 in is more than half the lever's travel; give at most half of it"),
        ({"extension_most": inches(12)}, "kit.extension_most: 1 ft is less than extension_least; give more"),
        (
            {"hole_pitch": inches(4)},
            "kit.hole_pitch: 4 in does not divide extension_most less extension_least, 1 ft 3 in",
        ),
        ({"hole_pitch": inches("1/4")}, "kit.hole_pitch: 1/4 in makes 61 holes; 60 at most"),
        ({"hole_pitch": inches("15/2")}, "kit.hole_pitch: 7 1/2 in from hole to hole is more than the lever's travel"),
        ({"tubes": (Tube(feet(4), 0),)}, "kit.tubes[1].count: 0 must be a whole number from 1 to 24"),
        ({"tubes": (Tube(feet(4), 1), Tube(feet(30), 1))}, "kit.tubes[2].length: 30 ft must be from 1 in to 20 ft"),
        ({"tubes": (Tube(feet(4), 1), Tube(inches(48), 1))}, "kit.tubes[2]: 4 ft stands twice"),
        ({"tubes": tuple(Tube(inches(n), 1) for n in range(10, 31))}, "kit.tubes: 21 different lengths; 20 at most"),
        ({"tubes": (Tube(feet(4), 13), Tube(feet(2), 12))}, "kit.tubes: 25 tubes; 24 at most"),
    ],
)
def test_a_kit_that_cannot_be_names_the_key(wrong: dict[str, Any], told: str) -> None:
    most = {"extension_most": inches(33)} if wrong.get("hole_pitch") == inches("1/4") else {}
    with pytest.raises(KitError) as caught:
        Kit(**{**most, **wrong})
    assert str(caught.value).startswith(told)
    assert caught.value.key in told


def test_the_limits_themselves_are_allowed() -> None:
    assert Kit(tubes=(Tube(inches(1), MOST_PIECES),)).pieces == MOST_PIECES
    assert Kit(window=inches(3)).window == inches(3)
    assert Kit(hole_pitch=inches(5)).holes == 4
    assert Kit(travel=Length(inches(5).inches), hole_pitch=inches(5), window=inches("5/2")).holes == 4
