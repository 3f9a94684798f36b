"""Text -> meaning: whole sentences or nothing."""

from assistant.core.meaning import Meaning
from assistant.speech.grammars import grammar
from assistant.speech.jsgf import read_grammar
from assistant.speech.understand import meanings, understand


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
