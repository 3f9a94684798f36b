"""A grammar as paths of tokens: exactly its sentences, whatever a token is."""

import pytest

from assistant.speech.grammars import asks, grammar
from assistant.speech.jsgf import Grammar, read_grammar
from assistant.speech.sampler import sentences
from assistant.speech.second_ear_paths import Paths, Place, Tokens
from assistant.speech.second_ear_search import LONGEST

SMALL = "#JSGF V1.0; grammar small; public <ask> = [no] (<kind> {x} | go back) | no figure; <kind> = wide | wider;"


def letters(word: str) -> Tokens:
    """A token for each letter, a space before the word."""
    return tuple(map(ord, f" {word}"))


def written(place: Place, before: str = "") -> set[str]:
    here = {before.strip()} if place.whole else set()
    return here.union(*(written(onward, before + chr(token)) for token, onward in place.onward.items()))


@pytest.mark.parametrize(
    "source", [read_grammar("small", {"small": SMALL}), *map(grammar, ("corner", "strip", "close"))]
)
def test_the_paths_are_the_sentences_and_no_others(source: Grammar) -> None:
    assert written(Paths(source, letters).begin) == set(sentences(source))


def test_two_ways_on_from_one_place_lead_to_one_place() -> None:
    source = read_grammar("ways", {"ways": "#JSGF V1.0; grammar ways; public <ask> = (ab | a [c]) wide;"})
    begin = Paths(source, lambda word: tuple(map(ord, word))).begin
    assert set(begin.onward) == {ord("a")}
    after = begin.onward[ord("a")]
    assert set(after.onward) == {ord("b"), ord("c"), ord("w")}
    assert after.onward[ord("b")] is after.onward[ord("c")]
    assert not begin.whole


@pytest.mark.parametrize("ask", asks())
def test_a_place_is_deterministic_and_always_leads_to_an_end(ask: str) -> None:
    begin = Paths(grammar(ask), letters).begin
    seen, waiting = {id(begin)}, [begin]
    while waiting:
        place = waiting.pop()
        assert place.whole or place.onward
        for onward in place.onward.values():
            if id(onward) not in seen:
                seen.add(id(onward))
                waiting.append(onward)


def longest(place: Place, known: dict[int, int]) -> int:
    if id(place) not in known:
        known[id(place)] = max((1 + longest(each, known) for each in place.onward.values()), default=0)
    return known[id(place)]


@pytest.mark.parametrize("ask", asks())
def test_no_sentence_is_longer_than_the_search_goes_even_at_two_tokens_a_word(ask: str) -> None:
    """Most words of the trade are one token; those of three (sixteenths, millimetres) come with others of one."""
    assert longest(Paths(grammar(ask), lambda word: [(1, 2)]).begin, {}) <= 2 * LONGEST
