"""The beam, led by a decoder that says what it was given to say."""

from collections.abc import Mapping, Sequence
from math import exp, log

import pytest

from assistant.speech.jsgf import read_grammar
from assistant.speech.second_ear_paths import Paths, Tokens
from assistant.speech.second_ear_search import Scores, best

TOKENS = {"six": 1, "sixty": 2, "inches": 3, "feet": 4, "two": 5}
END, STOP, OTHER = 90, 91, 92
TEXT = "#JSGF V1.0; grammar here; public <ask> = (six | sixty) (inches | feet [two]);"
BEGIN = Paths(read_grammar("here", {"here": TEXT}), lambda word: [(TOKENS[word],)]).begin


class Scripted:
    """Probabilities by what was said so far; it remembers how many tokens it has decoded."""

    def __init__(self, table: Mapping[Tokens, Mapping[int, float]]) -> None:
        self.table, self.said, self.decoded = table, [()], 0

    def start(self) -> Scores:
        return self._scores()

    def step(self, rows: Sequence[int], tokens: Sequence[int]) -> Scores:
        self.said = [(*self.said[row], token) for row, token in zip(rows, tokens, strict=True)]
        self.decoded += len(tokens)
        return self._scores()

    def _scores(self) -> Scores:
        here = list(self.said)
        return lambda row, token: log(self.table.get(here[row], {}).get(token, 1e-6))


def test_what_the_network_likes_best_is_not_heard_where_the_grammar_has_it_not() -> None:
    found = best(BEGIN, Scripted({(): {OTHER: 0.9, 2: 0.1}, (2,): {5: 0.8, 3: 0.2}, (2, 3): {END: 1.0}}), [END])
    assert found is not None
    assert found.tokens == (2, 3)
    assert found.score == pytest.approx(log(0.1 * 0.2))


def test_the_likelier_whole_sentence_wins_though_it_began_less_likely() -> None:
    table = {(): {1: 0.6, 2: 0.4}, (1,): {3: 0.1}, (2,): {3: 0.9}, (1, 3): {END: 1.0}, (2, 3): {END: 1.0}}
    found = best(BEGIN, Scripted(table), [END])
    assert found is not None
    assert found.tokens == (2, 3)


def test_a_sentence_may_end_in_either_way_and_both_count() -> None:
    table = {(): {1: 1.0}, (1,): {4: 1.0}, (1, 4): {END: 0.2, STOP: 0.35, 5: 0.45}, (1, 4, 5): {END: 1.0}}
    found = best(BEGIN, Scripted(table), [END, STOP])
    assert found is not None
    assert found.tokens == (1, 4)
    assert exp(found.score) == pytest.approx(0.55)


def test_only_a_whole_sentence_is_heard() -> None:
    found = best(BEGIN, Scripted({(): {1: 1.0}, (1,): {END: 1.0, 3: 1e-3}, (1, 3): {END: 1.0}}), [END])
    assert found is not None
    assert found.tokens == (1, 3)


def test_no_token_is_decoded_twice() -> None:
    """Two words, each with at most two ways on from each of two: 2 + 4 + 2 tokens, not their sums again and again."""
    decoder = Scripted({(): {1: 0.5, 2: 0.5}, (1,): {3: 0.5, 4: 0.5}, (2,): {3: 0.5, 4: 0.5}, (1, 4): {5: 1.0}})
    best(BEGIN, decoder, [END])
    assert decoder.decoded <= 8


def test_the_clock_can_end_it() -> None:
    def late() -> None:
        raise TimeoutError

    with pytest.raises(TimeoutError):
        best(BEGIN, Scripted({}), [END], late)


MANY = "#JSGF V1.0; grammar many; public <ask> = a | b | c | d | e | f | g;"


@pytest.mark.parametrize("likely", range(7))
def test_where_more_could_come_than_are_followed_the_likeliest_are(likely: int) -> None:
    begin = Paths(read_grammar("many", {"many": MANY}), lambda word: [(ord(word),)]).begin
    token = ord("abcdefg"[likely])
    found = best(begin, Scripted({(): {token: 0.9}, (token,): {END: 1.0}}), [END])
    assert found is not None
    assert found.tokens == (token,)


def test_what_can_no_longer_win_is_not_followed() -> None:
    """'six feet' is nearly sure; 'six feet two' could only be less likely."""
    table = {(): {1: 1.0}, (1,): {4: 1.0}, (1, 4): {END: 0.99, 5: 0.01}, (1, 4, 5): {END: 1.0}}
    decoder = Scripted(table)
    best(BEGIN, decoder, [END])
    assert (1, 4, 5) not in decoder.said
