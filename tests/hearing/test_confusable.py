"""No two phrases of an ask too near to each other: the build fails and names the pair."""

import pytest

from assistant.hearing.confusable import Clash, apart, clashes, drawn, excuse_clash, excuse_stump, stumps
from assistant.hearing.confusable_page import confusable_page
from assistant.hearing.phones import distance
from assistant.speech.grammars import asks

FEW = 60
"""Sentences drawn for each ask here; the report draws more."""


@pytest.mark.parametrize("ask", asks())
def test_what_sounds_alike_is_allowed_by_name(ask: str) -> None:
    near = [each for each in clashes(ask, drawn(ask, FEW)) if not excuse_clash(each)]
    found = [f"{each.said} / {each.heard} ({each.apart})" for each in near]
    assert found == [], f"ask {ask}: rename one, or allow the pair in assistant/hearing/allowed.toml with a reason"


@pytest.mark.parametrize("ask", asks())
def test_a_cut_off_sentence_with_another_value_is_allowed_by_name(ask: str) -> None:
    found = [f"{each.shape}: {each.example}" for each in stumps(ask, drawn(ask, FEW)) if not excuse_stump(each)]
    assert found == [], f"ask {ask}: make the unit compulsory, or allow the shape in assistant/hearing/allowed.toml"


def test_phones_apart() -> None:
    assert distance("F AO R".split(), "F AO R".split()) == 0
    assert distance("S IH K S".split(), "S IH K".split()) == 1.0  # a phone left out
    assert distance("HH OW L D".split(), "OW L D".split()) == 0.6  # one that is often swallowed
    assert distance("B AE D".split(), "B AE T".split()) == 0.4  # voice alone
    assert distance("K AE T".split(), "T AE K".split()) == 1.2  # two of one class
    assert distance([], "S IH K".split()) == 3.0


def test_the_nearest_pronunciation_counts() -> None:
    assert apart("a", "eight") == 0.6  # 'a' as EY, the T swallowed
    assert apart("thirteen", "thirty") == 1.0
    assert apart("sixteen", "fifteen") > 1.5


def test_teens_and_tens_are_found_one_way_or_the_other() -> None:
    assert [each.pair for each in clashes("humidity", ["thirteen percent"])] == [("thirteen", "thirty")]
    assert [each.pair for each in clashes("humidity", ["thirty percent"])] == [("thirteen", "thirty")]
    assert clashes("humidity", ["thirty percent"], least=0.9) == []


def test_other_words_with_the_same_meaning_are_no_clash() -> None:
    assert clashes("unrolled", ["twelve hours"]) == []  # 'hour' means the same
    assert clashes("confirm", ["yes", "no"]) == []


def test_two_words_for_one() -> None:
    pairs = [each.pair for each in clashes("size", ["sixty by ten"])]
    assert ("six two", "sixty") in pairs
    assert ("sixteen", "sixty") in pairs
    assert ("six two", "sixty") in [each.pair for each in clashes("size", ["six two by ten"])]


def test_the_sixteenths_that_must_not_be_lost() -> None:
    (found,) = stumps("pull", ["sixteen inches and eleven sixteenths"])
    assert (found.shape, found.example) == ("inch + and", "sixteen inches | and eleven sixteenths")
    assert stumps("pull", ["sixteen and eleven sixteenths"]) == []  # 'sixteen' alone is no reading
    assert stumps("pull", ["moved two inches strong"]) == []  # no other value


def test_an_unlisted_pair_has_no_excuse() -> None:
    assert excuse_clash(Clash("pull", "hooked", "cooked", 0.6, "hooked")) == ""
    assert excuse_clash(Clash("size", "thirty", "thirteen", 1.0, "thirty feet")) != ""


def test_the_report_names_every_pair_once() -> None:
    page = confusable_page(3)
    assert "| door | far | 1.4 | corner" in page
    assert page.count("| door | far |") == 1
