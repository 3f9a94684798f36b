"""Figures in words."""

from fractions import Fraction

import pytest
from num2words import num2words

from assistant.core import spoken
from assistant.core.length import Length, System, feet, inches, millimetres

IMPERIAL, METRIC = System.IMPERIAL, System.METRIC


def plain(words: str) -> str:
    """num2words prints hyphens, commas and 'and'."""
    return " ".join(each for each in words.replace("-", " ").replace(",", " ").split() if each != "and")


def test_whole_numbers_agree_with_num2words() -> None:
    for number in [*range(1000), 1000, 1001, 1200, 12_013, 30_480, 100_000, 999_999]:
        assert spoken.whole(number) == plain(num2words(number))


@pytest.mark.parametrize(
    ("part", "words"),
    [("1/2", "a half"), ("1/4", "a quarter"), ("1/8", "an eighth"), ("1/16", "a sixteenth"), ("3/4", "three quarters"),
     ("5/8", "five eighths"), ("13/16", "thirteen sixteenths"), ("5/32", "five thirty seconds"),
     ("1/64", "a sixty fourth")],
)  # fmt: skip
def test_tape_fractions(part: str, words: str) -> None:
    assert spoken.fraction(Fraction(part)) == words


@pytest.mark.parametrize("part", ["1/3", "1/128", "0", "1", "3/2"])
def test_other_fractions_are_refused(part: str) -> None:
    with pytest.raises(ValueError, match=f"^{part} is no half, quarter, .* or sixty fourth below one"):
        spoken.fraction(Fraction(part))


@pytest.mark.parametrize(
    ("number", "places", "words"),
    [("7/5", 1, "one point four"), ("2", 1, "two"), ("5/4", 2, "one point two five"),
     ("1/100", 2, "zero point zero one"),
     ("199/100", 1, "two"), ("24/25", 2, "zero point nine six"), ("105/100", 2, "one point zero five")],
)  # fmt: skip
def test_decimals(number: str, places: int, words: str) -> None:
    assert spoken.decimal(Fraction(number), places) == words


@pytest.mark.parametrize(
    ("length", "system", "words"),
    [
        (feet(12, "29/8"), IMPERIAL, "twelve feet three and five eighths inches"),
        (feet(1, 1), IMPERIAL, "one foot one inch"),
        (feet(11, "1/2"), IMPERIAL, "eleven feet and a half inch"),
        (feet(16), IMPERIAL, "sixteen feet"),
        (inches("1/2"), IMPERIAL, "half an inch"),
        (inches("9/16"), IMPERIAL, "nine sixteenths of an inch"),
        (inches("1/8"), IMPERIAL, "an eighth of an inch"),
        (inches("13/8"), IMPERIAL, "one and five eighths inches"),
        (inches(0), IMPERIAL, "zero inches"),
        (millimetres(38), METRIC, "thirty eight millimetres"),
        (millimetres(1), METRIC, "one millimetre"),
        (millimetres(1000), METRIC, "one metre"),
        (millimetres(4000), METRIC, "four metres"),
        (millimetres(3640), METRIC, "three metres sixty four centimetres"),
        (millimetres(3642), METRIC, "three metres six hundred forty two millimetres"),
        (millimetres("35.9"), METRIC, "thirty five point nine millimetres"),
        (millimetres("1.5"), METRIC, "one point five millimetres"),
        (millimetres("3640.5"), METRIC, "three metres six hundred forty point five millimetres"),
        (millimetres("3000.5"), METRIC, "three metres zero point five millimetres"),
        (millimetres("35.94"), METRIC, "thirty six millimetres"),
        (feet(12, "101/32"), IMPERIAL, "twelve feet three and five thirty seconds inches"),
        (feet(12, "6/5"), IMPERIAL, "twelve feet one point two inches"),
        (inches("0.02"), IMPERIAL, "zero point zero two inches"),
    ],
)
def test_lengths(length: Length, system: System, words: str) -> None:
    assert spoken.length(length, system) == words


@pytest.mark.parametrize(
    ("length", "system", "words"),
    [
        (feet(16, "19/8"), IMPERIAL, "one six, two and three eighths"),
        (feet(16), IMPERIAL, "one six"),
        (inches("13/8"), IMPERIAL, "one and five eighths"),
        (inches("5/8"), IMPERIAL, "five eighths"),
        (inches(0), IMPERIAL, "zero"),
        (millimetres(3642), METRIC, "three, six four two"),
        (millimetres(3600), METRIC, "three, six zero"),
        (millimetres(3000), METRIC, "three"),
        (millimetres(38), METRIC, "three eight"),
        (millimetres(0), METRIC, "zero"),
        (millimetres("35.9"), METRIC, "three five point nine"),
        (millimetres("0.5"), METRIC, "zero point five"),
        (millimetres("3000.5"), METRIC, "three, zero point five"),
        (millimetres("3640.5"), METRIC, "three, six four zero point five"),
        (feet(12, "6/5"), IMPERIAL, "one two, one point two"),
        (feet(12, "1/2"), IMPERIAL, "one two and a half"),
        (feet(12, "1/50"), IMPERIAL, "one two, zero point zero two"),
    ],
)
def test_digit_by_digit(length: Length, system: System, words: str) -> None:
    assert spoken.digits(length, system) == words


@pytest.mark.parametrize(
    ("length", "system", "alike"),
    [
        (feet(16), IMPERIAL, True),
        (feet(12, 11), IMPERIAL, False),
        (feet(40, 2), IMPERIAL, True),
        (feet(42), IMPERIAL, False),
        (inches("13/16"), IMPERIAL, False),
        (millimetres(30), METRIC, True),
        (millimetres(113), METRIC, True),
        (millimetres(3640), METRIC, False),
        (millimetres(3614), METRIC, True),
        (millimetres("30.5"), METRIC, True),
        (millimetres("35.9"), METRIC, False),
        (millimetres("3640.5"), METRIC, True),
    ],
)
def test_teens_and_tens_sound_alike(length: Length, system: System, alike: bool) -> None:
    assert spoken.sounds_alike(length, system) is alike


def test_every_strong_pair_is_named() -> None:
    named = {number for number in range(100) if spoken.whole_sounds_alike(number)}
    assert named == {13, 14, 15, 16, 17, 18, 19, 30, 40, 50, 60, 70, 80, 90}
