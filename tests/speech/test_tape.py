"""The meaning tape: an adding machine."""

from fractions import Fraction

import pytest

from assistant.core.meaning import Meaning, Quantity
from assistant.speech.tape import TapeError, add_up


def figures(*tags: str) -> tuple[tuple[Fraction, str], ...]:
    return tuple((each.value, each.unit) for each in add_up((*tags, "act=x")).quantities)


@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        (("11", "ft", "6", "in"), ((138, "in"),)),
        (("11", "ft", "by", "16", "ft"), ((132, "in"), (192, "in"))),
        (("3", "m", "60", "cm"), ((3600, "mm"),)),
        (("3", "m", "by", "60", "cm"), ((3000, "mm"), (600, "mm"))),
        (("3", ".", "6", "4", "m"), ((3640, "mm"),)),
        (("2", "*100", "40", "2", "mm"), ((242, "mm"),)),
        (("1", "5/8", "in"), ((Fraction(13, 8), "in"),)),
        (("1", "pct", "1", ".", "5", "pct"), ((1, "pct"), (Fraction(3, 2), "pct"))),
        (("70", "F"), ((70, "F"),)),
        (("21", "C"), ((21, "C"),)),
        (("30", "h", "2", "h"), ((30, "h"), (2, "h"))),
    ],
)
def test_adds_up(tags: tuple[str, ...], expected: tuple[tuple[Fraction, str], ...]) -> None:
    assert figures(*tags) == expected


def test_words_and_digits() -> None:
    meaning = add_up(("act=job", "0", "4", "2", "#", "word=pipe", "manner=strong", "2", "in"))
    assert meaning == Meaning("job", (Quantity(Fraction(2), "in"),), "pipe", "042", "strong")


@pytest.mark.parametrize("tag", ["yard", "", "7x", "1/0", "-3", "1.5"])
def test_an_unknown_tag_is_named(tag: str) -> None:
    with pytest.raises(TapeError, match=f"tag {{{tag}}}: not a number, a unit, or act="):
        add_up((tag, "act=x"))


def test_a_tape_without_an_act_is_named() -> None:
    with pytest.raises(TapeError, match="tape 7 in: no act= on it"):
        add_up(("7", "in"))
