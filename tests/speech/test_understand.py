"""Text -> meaning: whole sentences or nothing."""

from random import Random

import pytest

from assistant.core.meaning import Meaning
from assistant.speech.grammars import asks, grammar
from assistant.speech.jsgf import read_grammar
from assistant.speech.sampler import count, sample, sentences
from assistant.speech.understand import candidates, goes_on, meanings, twins, understand


def test_capitals_and_spaces_do_not_matter() -> None:
    assert understand("  Scratch   THAT ", grammar("pull")) == Meaning("undo")


def test_a_part_of_a_sentence_is_nothing() -> None:
    for words in ("scratch", "that", "scratch that now", "please scratch that", "[unk]", ""):
        assert understand(words, grammar("pull")) is None


def test_every_distinct_meaning_is_found() -> None:
    text = "#JSGF V1.0; grammar g; <ask> = x {act=a} | x {act=b} | x {act=a};"
    unsound = read_grammar("g", {"g": text})
    assert [each.act for each in meanings("x", unsound)] == ["a", "b"]
    assert understand("x", unsound) == Meaning("a")


@pytest.mark.parametrize(
    ("ask", "text", "others"),
    [
        ("pull", "fifteen millimetres", ["fifty millimetres"]),
        ("pull", "holds fifteen millimetres", []),  # no sentence of this ask
        ("hold", "holds one hundred eighty millimetres", ["holds one hundred eighteen millimetres"]),
        ("pull", "thirteen inches", []),  # thirty are not said in inches
        ("pull", "sixty two millimetres", []),  # 'sixteen two' is no number
        ("pull", "twenty millimetres", []),
        ("temperature", "seventeen degrees celsius", ["seventy degrees celsius"]),
        ("size", "thirteen feet by nineteen feet", ["thirty feet by nineteen feet", "thirteen feet by ninety feet"]),
        ("size", "Forty feet", ["fourteen feet"]),
    ],
)
def test_every_teen_has_its_ty(ask: str, text: str, others: list[str]) -> None:
    found = twins(text, grammar(ask))
    assert [each.text for each in found] == others
    assert [each.meaning for each in found] == [understand(each, grammar(ask)) for each in others]


def test_candidates_are_sentences_and_each_means_something_else() -> None:
    texts = ["three eighths", "scratch", "three eighths inch", "[unk]", "five eighths"]
    assert [each.text for each in candidates(texts, grammar("pull"))] == ["three eighths", "five eighths"]


@pytest.mark.parametrize(
    ("ask", "text", "more"),
    [
        ("size", "six foot", True),
        ("size", "six foot eleven", True),  # 'by six feet'
        ("size", "Six foot eleven and a", True),
        ("size", "six foot eleven by", True),
        ("size", "six foot eleven by six feet eleven and three quarters inches", False),
        ("size", "foot", False),
        ("size", "six foot [unk]", False),
        ("pull", "moved one inch", True),  # 'and a half', 'strong'
        ("pull", "moved one inch strong", False),
        ("pull", "hooked", False),
        ("openings", "far wall doorway from two metres until three metres", True),  # 'ten'
        ("confirm", "yes", False),
        ("confirm", "that is", True),
        ("confirm", "", True),
    ],
)
def test_some_words_may_be_followed_by_more(ask: str, text: str, more: bool) -> None:
    assert goes_on(text, grammar(ask)) == more


@pytest.mark.parametrize("ask", [each for each in asks() if count(grammar(each)) < 1_000])
def test_what_may_go_on_is_what_a_longer_sentence_begins_with(ask: str) -> None:
    """Against every sentence written out."""
    said = {tuple(each.split()) for each in sentences(grammar(ask))}
    begun = {each[:length] for each in said for length in range(len(each))}
    for words in begun | said:
        assert goes_on(" ".join(words), grammar(ask)) == (words in begun), words
        assert not goes_on(" ".join((*words, "carpet")), grammar(ask))


@pytest.mark.parametrize("ask", asks())
def test_every_begin_of_a_sentence_may_go_on(ask: str) -> None:
    dice = Random(7)
    for words in (sample(grammar(ask), dice).split() for _ in range(20)):
        for length in range(len(words)):
            assert goes_on(" ".join(words[:length]), grammar(ask)), words[:length]
