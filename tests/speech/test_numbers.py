"""Number words and tape figures, both ways."""

from fractions import Fraction

import pytest
from num2words import num2words

from assistant.core import spoken
from assistant.core.length import Length, System, inches, millimetres
from assistant.shelf import grammars_folder
from assistant.speech.grammars import grammar
from assistant.speech.jsgf import Grammar, read_grammar
from assistant.speech.understand import meanings, understand

HEADER = "#JSGF V1.0;\ngrammar count;\nimport <numbers.*>;\n"


def counting(rule: str) -> Grammar:
    """A grammar of nothing but one number rule; hours, because their unit changes nothing."""
    numbers = (grammars_folder() / "numbers.jsgf").read_text(encoding="utf-8")
    return read_grammar("count", {"numbers": numbers, "count": HEADER + f"public <ask> = <{rule}> {{h}} {{act=n}};"})


COUNT = counting("below_thousand")


def value(words: str, counted: Grammar = COUNT) -> Fraction | None:
    found = meanings(words, counted)
    assert len(found) <= 1
    return found[0].quantities[0].value if found else None


def test_every_number_below_a_thousand_both_ways() -> None:
    """num2words as the reference; it prints hyphens, and 'and' after the hundreds."""
    for number in range(1, 1000):
        british = num2words(number).replace("-", " ")
        assert value(british) == number
        assert value(spoken.whole(number)) == number
        assert spoken.whole(number) == " ".join(each for each in british.split() if each != "and")


def test_zero_is_a_digit_only() -> None:
    assert spoken.whole(0) == num2words(0)
    assert value("zero") is None
    meaning = understand("job zero zero one", grammar("job"))
    assert meaning is not None and meaning.digits == "001"


def test_a_hundred() -> None:
    assert value("a hundred and five") == value("one hundred five") == 105


NO_NUMBERS = ("hundred", "twenty eleven", "one two", "twenty and one", "thirteen hundred", "oh", "a")


@pytest.mark.parametrize("words", NO_NUMBERS)
def test_no_numbers(words: str) -> None:
    assert value(words) is None


@pytest.mark.parametrize("tenth", range(10))
def test_decimals_agree_with_num2words(tenth: int) -> None:
    counted = counting("decimal")
    for whole in (0, 1, 9, 12, 47, 99):
        words = num2words(f"{whole}.{tenth}5").replace("-", " ")
        assert value(words, counted) == Fraction(f"{whole}.{tenth}5")
        assert value(spoken.whole(whole) + " point " + spoken.whole(tenth), counted) == Fraction(f"{whole}.{tenth}")


def length(words: str, ask: str) -> Length | None:
    meaning = understand(words, grammar(ask))
    return None if meaning is None else Length.of(meaning.quantities[0])


@pytest.mark.parametrize("ask", ["pull", "hold"])
def test_every_sixteenth_below_a_foot_both_ways(ask: str) -> None:
    for sixteenths in range(1, 192):
        figure = inches(Fraction(sixteenths, 16))
        assert length(spoken.length(figure, System.IMPERIAL), ask) == figure


def test_every_sixteenth_to_24_inches_as_a_side() -> None:
    """From one foot on; a reading of a foot and more is said in inches ('fourteen and a half'), below."""
    for sixteenths in range(192, 385):
        figure = inches(Fraction(sixteenths, 16))
        assert length(spoken.length(figure, System.IMPERIAL), "size") == figure


@pytest.mark.parametrize("ask", ["pull", "hold"])
def test_every_sixteenth_to_twenty_inches_in_inches(ask: str) -> None:
    for sixteenths in range(1, 320):
        whole, part = divmod(Fraction(sixteenths, 16), 1)
        pieces = [spoken.whole(whole)] if whole else []
        pieces += ["and"] if whole and part else []
        pieces += [spoken.fraction(part)] if part else []
        words = " ".join([*pieces, "inches" if whole and not part else ""])
        assert length(words, ask) == inches(Fraction(sixteenths, 16))


def test_every_sixteenth_to_24_inches_as_inches_of_a_side() -> None:
    for sixteenths in range(16, 385):
        whole, part = divmod(Fraction(sixteenths, 16), 1)
        ending = f" and {spoken.fraction(part)}" if part else ""
        assert length(f"{spoken.whole(whole)}{ending} inches", "size") == inches(Fraction(sixteenths, 16))


def test_every_millimetre_both_ways() -> None:
    for mm in range(1, 1000):
        for ask in ("pull", "size"):
            assert length(spoken.length(millimetres(mm), System.METRIC), ask) == millimetres(mm)


@pytest.mark.parametrize("ask", ["pull", "hold"])
def test_every_tenth_of_a_millimetre_below_100_both_ways(ask: str) -> None:
    for tenths in range(1, 1000):
        figure = millimetres(Fraction(tenths, 10))
        assert length(spoken.length(figure, System.METRIC), ask) == figure


def test_sides_both_ways() -> None:
    """Up to 99 ft 11 15/16 in and 30.48 m; a hundred feet exactly has no spoken form."""
    for sixteenths in range(384, 19200, 37):
        figure = inches(Fraction(sixteenths, 16))
        assert length(spoken.length(figure, System.IMPERIAL), "size") == figure
    for mm in [*range(1000, 4000), *range(4000, 30481, 17)]:
        assert length(spoken.length(millimetres(mm), System.METRIC), "size") == millimetres(mm)
