"""The beam, led by a decoder that says what it was given to say."""

from collections.abc import Mapping, Sequence
from math import exp, log

import pytest

from assistant.speech.jsgf import read_grammar
from assistant.speech.second_ear_paths import Paths, Place, Tokens
from assistant.speech.second_ear_search import LONGEST, Scores, Width, whole_sentences

TOKENS = {"six": 1, "sixty": 2, "inches": 3, "feet": 4, "two": 5}
END, OTHER = 90, 92
TEXT = "#JSGF V1.0; grammar here; public <ask> = (six | sixty) (inches | feet [two]);"
BEGIN = Paths(read_grammar("here", {"here": TEXT}), lambda word: (TOKENS[word],)).begin


FEW = Width(beam=5, narrow=10.0, behind=6.0)


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


def found(decoder: Scripted, width: Width = FEW, begin: Place = BEGIN) -> dict[Tokens, float]:
    return whole_sentences(begin, decoder, END, width)


def test_what_the_network_likes_best_is_not_heard_where_the_grammar_has_it_not() -> None:
    sentences = found(Scripted({(): {OTHER: 0.9, 2: 0.1}, (2,): {5: 0.8, 3: 0.2}, (2, 3): {END: 1.0}}))
    assert max(sentences, key=sentences.__getitem__) == (2, 3)
    assert exp(sentences[2, 3]) == pytest.approx(0.1 * 0.2, rel=1e-4)


def test_all_whole_sentences_on_its_way_are_found_with_what_they_are_worth() -> None:
    table = {(): {1: 0.6, 2: 0.4}, (1,): {3: 0.1}, (2,): {3: 0.9}, (1, 3): {END: 1.0}, (2, 3): {END: 0.5}}
    sentences = {tokens: exp(score) for tokens, score in found(Scripted(table)).items() if score > -10}
    assert sentences == pytest.approx({(1, 3): 0.06, (2, 3): 0.18}, rel=1e-4)


def test_only_a_whole_sentence_is_heard() -> None:
    sentences = found(Scripted({(): {1: 1.0}, (1,): {END: 1.0, 3: 1e-3}, (1, 3): {END: 1.0}}))
    assert (1,) not in sentences
    assert (1, 3) in sentences


def test_nothing_said_is_no_sentence() -> None:
    begin = Paths(read_grammar("may", {"may": "#JSGF V1.0; grammar may; public <ask> = [six];"}), lambda word: (1,))
    assert {*found(Scripted({(): {END: 1.0}}), begin=begin.begin)} == {(1,)}


def test_a_sentence_without_end_is_given_up() -> None:
    text = f"#JSGF V1.0; grammar long; public <ask> = {'six ' * (LONGEST + 1)};"
    begin = Paths(read_grammar("long", {"long": text}), lambda word: (1,)).begin
    decoder = Scripted({(1,) * each: {1: 1.0} for each in range(LONGEST + 1)})
    assert found(decoder, begin=begin) == {}
    assert decoder.decoded == LONGEST


def test_no_token_is_decoded_twice() -> None:
    """Two words, each with at most two ways on from each of two: 2 + 4 + 2 tokens, not their sums again and again."""
    decoder = Scripted({(): {1: 0.5, 2: 0.5}, (1,): {3: 0.5, 4: 0.5}, (2,): {3: 0.5, 4: 0.5}, (1, 4): {5: 1.0}})
    found(decoder)
    assert decoder.decoded <= 8


def test_the_clock_can_end_it() -> None:
    def late() -> None:
        raise TimeoutError

    with pytest.raises(TimeoutError):
        whole_sentences(BEGIN, Scripted({}), END, FEW, late)


MANY = Paths(read_grammar("many", {"many": "#JSGF V1.0; grammar many; public <ask> = a | b | c | d | e | f | g;"}),
             lambda word: (ord(word),)).begin  # fmt: skip
FALLING = {(): {ord(word): 0.5**place for place, word in enumerate("gfedcba", 1)}}


@pytest.mark.parametrize("beam", [1, 5])
def test_where_more_could_come_than_are_followed_the_likeliest_are(beam: int) -> None:
    sentences = found(Scripted(FALLING), Width(beam, narrow=99.0), MANY)
    assert [chr(token) for (token,) in sentences] == list("gfedcba"[:beam])


@pytest.mark.parametrize(("narrow", "followed"), [(0.1, 1), (1.0, 2), (1.5, 3)])
def test_what_lies_too_far_behind_the_best_is_not_followed(narrow: float, followed: int) -> None:
    """Each is half as likely as the one before: 0.69 nats behind it."""
    assert len(found(Scripted(FALLING), Width(9, narrow), MANY)) == followed


@pytest.mark.parametrize(("behind", "followed"), [(4.0, False), (5.0, True)])
def test_what_lies_too_far_behind_a_whole_sentence_is_not_followed(behind: float, followed: bool) -> None:
    """'six feet' is nearly sure; 'six feet two' can only be less likely than one in a hundred: 4.6 nats."""
    table = {(): {1: 1.0}, (1,): {4: 1.0}, (1, 4): {END: 0.99, 5: 0.01}, (1, 4, 5): {END: 1.0}}
    decoder = Scripted(table)
    assert ((1, 4, 5) in found(decoder, Width(5, 10.0, behind))) == followed
    assert ((1, 4, 5) in decoder.said) == followed
