"""A tiny grammar and lexicon -> graphs: what they accept and what it costs, against lists made by hand.

The grammar's graph is asked by OpenFst's composition, the lexicon's is walked here. The graphs that ship:
tests/speech/test_graphs.py. That a word without pronunciation stops the build: test_bad_input.py.
"""

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from itertools import product
from typing import Any

import pytest

pytestmark = pytest.mark.skipif(
    shutil.which("fstconvert") is None or find_spec("pynini") is None,
    reason="needs pynini (extra 'train') and OpenFst's fstconvert",
)

SENTENCES = {"one", "one two", "two go go", "go go go"}
LEXICON = {"one": ["AB"], "two": ["B", "CAB"], "go": ["C"]}
SILENCE, WORD, FIRST, PHONE, LAST, UNKNOWN = 0.5, 0.25, 1.0, 2.0, 4.0, 8.0
"""Costs; as graph_child.py has them, that of 'two' besides."""
BESIDES = {"two": -16.0}
NAMES = ["SIL", *(f"{name}_{place}" for name in "ABC" for place in "BEIS")]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("graphs")
    command = [sys.executable, "-m", "tests.train.graph_child", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    lines = (folder / "words.txt").read_text(encoding="utf-8").splitlines()
    assert {word: int(number) for word, number in map(str.split, lines)} == {"<eps>": 0, **found["ids"]}
    return found


def test_each_sentence_is_accepted_and_any_other_is_refused(made: dict[str, Any]) -> None:
    accepted = {" ".join(words) for words, cost in made["costs"] if cost is not None and "[unk]" not in words}
    assert accepted == {*SENTENCES, ""}, "the empty one is noise"
    assert all(cost == 0 for words, cost in made["costs"] if " ".join(words) in accepted)
    assert len(made["costs"]) == 1 + 4 + 16 + 64 + 256


def test_other_speech_stands_alone_and_costs_each_time(made: dict[str, Any]) -> None:
    for words, cost in made["costs"]:
        if "[unk]" in words:
            assert cost == (UNKNOWN * len(words) if set(words) == {"[unk]"} else None)


class Walk:
    """The lexicon's graph, arc by arc."""

    def __init__(self, told: dict[str, Any], ids: dict[str, int]) -> None:
        self.word = {number: word for word, number in ids.items()}
        self.start, self.final = told["start"], {int(state): cost for state, cost in told["final"].items()}
        self.arcs: dict[int, list[list[Any]]] = {}
        self.loops: dict[int, list[int]] = {}
        for state, heard, said, cost, end in told["arcs"]:
            if state == end:
                assert (said, cost) == (0, 0)
                self.loops.setdefault(state, []).append(heard)
            else:
                self.arcs.setdefault(state, []).append([heard, said, cost, end])

    def ways(self, phones: int) -> Iterator[tuple[tuple[str, ...], tuple[str, ...], float]]:
        """(phones, words, cost) of every way with at most so many phones; no self-loop is taken."""
        waiting: list[tuple[int, tuple[str, ...], tuple[str, ...], float]] = [(self.start, (), (), 0.0)]
        while waiting:
            state, heard, said, cost = waiting.pop()
            if state in self.final:
                yield heard, said, cost + self.final[state]
            for label, word, more, end in self.arcs.get(state, []):
                now = (*heard, NAMES[label // 2 - 1]) if label else heard
                if len(now) <= phones:
                    waiting.append((end, now, (*said, self.word[word]) if word else said, cost + more))


def positions(form: str) -> tuple[str, ...]:
    if len(form) == 1:
        return (f"{form}_S",)
    return (f"{form[0]}_B", *(f"{each}_I" for each in form[1:-1]), f"{form[-1]}_E")


def by_hand(phones: int) -> set[tuple[tuple[str, ...], tuple[str, ...], float]]:
    """Words in any order, silence or none around each; '[unk]' is any two or more phones."""
    spoken = [
        (positions(form), word, WORD + BESIDES.get(word, 0.0)) for word, forms in LEXICON.items() for form in forms
    ]
    for size in range(2, phones + 1):
        for form in product("ABC", repeat=size):
            cost = FIRST + WORD + PHONE * (size - 1) + LAST
            spoken.append((positions("".join(form)), "[unk]", cost))
    found = set[tuple[tuple[str, ...], tuple[str, ...], float]]()

    def go(heard: tuple[str, ...], said: tuple[str, ...], cost: float) -> None:
        for silence in ((), ("SIL",)):
            here = (*heard, *silence)
            if len(here) <= phones:
                found.add((here, said, cost + SILENCE))
                for form, word, more in spoken:
                    if len(here) + len(form) <= phones:
                        go((*here, *form), (*said, word), cost + SILENCE + more)

    go((), (), 0.0)
    return found


def test_the_lexicons_graph_says_words_by_their_phones_and_nothing_else(made: dict[str, Any]) -> None:
    walk = Walk(made["lexicon"], made["ids"])
    found = list(walk.ways(4))
    assert len(found) == len(set(found)) > 500
    assert set(found) == by_hand(4)


def test_a_phone_may_last_by_the_loop_of_its_own_state(made: dict[str, Any]) -> None:
    """Transition ids count from 1, two a phone: the self-loop, then the way in (Kaldi's chain topology)."""
    walk = Walk(made["lexicon"], made["ids"])
    into: dict[int, set[int]] = {}
    for arcs in walk.arcs.values():
        for label, _, _, end in arcs:
            if label:
                assert label % 2 == 0
                into.setdefault(end, set()).add(label)
    assert {state: {label - 1 for label in labels} for state, labels in into.items()} == {
        state: set(labels) for state, labels in walk.loops.items()
    }
    assert all(len(labels) == 1 for labels in into.values())
