"""Text -> meaning: whole sentences or nothing."""

import pytest

from assistant.core.meaning import Meaning
from assistant.speech.grammars import grammar
from assistant.speech.jsgf import read_grammar
from assistant.speech.understand import candidates, meanings, twins, understand


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
