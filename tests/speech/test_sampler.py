"""The sampler: counts what it enumerates, and samples only what is in the grammar."""

from random import Random

from assistant.speech.jsgf import Grammar, read_grammar
from assistant.speech.sampler import count, sample, sentences
from assistant.speech.understand import understand


def grammar() -> Grammar:
    text = "#JSGF V1.0; grammar g; <b> = one {1} | two {2}; public <ask> = [please] <b> {h} {act=x} (now | <b> {h});"
    return read_grammar("g", {"g": text})


def test_enumerates_what_it_counts() -> None:
    found = list(sentences(grammar()))
    assert len(found) == len(set(found)) == count(grammar()) == 12
    assert "one now" in found and "please two one" in found
    assert found == list(sentences(grammar()))


def test_ambiguous_ways_count_twice() -> None:
    twice = read_grammar("g", {"g": "#JSGF V1.0; grammar g; <ask> = (x | x) {act=x};"})
    assert (count(twice), list(sentences(twice))) == (2, ["x", "x"])


def test_samples_reach_every_sentence_and_nothing_else() -> None:
    dice = Random(7)
    found = {sample(grammar(), dice) for _ in range(600)}
    assert found == set(sentences(grammar()))
    assert all(understand(each, grammar()) for each in found)


def test_the_same_dice_the_same_sentence() -> None:
    assert [sample(grammar(), Random(3)) for _ in range(5)] == [sample(grammar(), Random(3))] * 5


def test_what_is_rare_is_understood_as_without_the_mark_and_never_drawn() -> None:
    rare = "#JSGF V1.0; grammar g; <ask> = ((one {1} | two {2}) {h} | nine {9} {h} {rare}) {act=x};"
    marked, plain = (read_grammar("g", {"g": each}) for each in (rare, rare.replace(" {rare}", "")))
    assert understand("nine", marked) == understand("nine", plain) is not None
    dice = Random(1)
    assert {sample(marked, dice) for _ in range(100)} == {"one", "two"}
    assert "nine" in {sample(plain, dice) for _ in range(100)}
