"""The phone table, and a text as states. The states are walked here by brute force; no aligner's code is used."""

from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.shelf import model_folder
from assistant.speech.grammars import lexicon, vocabulary
from assistant.speech.witness import numbered
from assistant.train.kaldi import read_transitions
from assistant.train.lexicon import Phones, phone_table
from assistant.train.spelling import ENTRY, States, states


def test_every_word_of_the_grammars_is_made_of_phones_the_network_scores() -> None:
    """Trained with silence as 0 and the plain phones from 1 up, two outputs each: as the shipped final.mdl has them."""
    phones = Phones(model_folder() / "graph" / "phones.txt")
    number = {name: place for place, name in enumerate(phones.plain, 1)}
    assert vocabulary() <= lexicon().keys()
    assert {phone for forms in lexicon().values() for form in forms for phone in form} <= number.keys()
    of = {each.phone: (each.first_output, each.rest_output) for each in read_transitions(_final())}
    assert of[phones.number["SIL"]] == (0, 1)
    for name, place in number.items():
        for end in "BEIS":
            assert of[phones.number[f"{name}_{end}"]] == (2 * place, 2 * place + 1), name


def _final() -> Path:
    return model_folder() / "am" / "final.mdl"


def test_places_of_a_small_phone_table(tmp_path: Path) -> None:
    """By hand. Kaldi's word_boundary.int: 'number place', silence is 'nonword' (from memory; vosk reads it so)."""
    table = tmp_path / "phones.txt"
    table.write_text("<eps> 0\nSIL 1\nT_B 2\nT_E 3\nT_I 4\nT_S 5\nSPN_B 6\n", encoding="utf-8")
    phones = Phones(table)
    assert phones.plain == ["T"]
    assert phones.boundaries().splitlines() == [
        "1 nonword", "2 begin", "3 end", "4 internal", "5 singleton", "6 begin",
    ]  # fmt: skip
    assert phones.unused_label == 13


def test_a_table_with_phones_of_one_word(tmp_path: Path) -> None:
    """By hand: phones of any word come first, so their numbers stay what they are in a model without the others."""
    table = tmp_path / "phones.txt"
    table.write_text(phone_table(["T", "UW"], {"two": [("T", "UW")], "to": [("T", "UH")]}), encoding="utf-8")
    phones = Phones(table)
    assert phones.plain == ["T", "UW", "T@to", "T@two", "UH@to", "UW@two"]
    assert phones.common == ["T", "UW"]
    states = {each.phone: (each.first_output, each.rest_output) for each in phones.states()}
    assert states[phones.number["SIL"]] == (0, 1)
    assert {states[phones.number[f"UW@two_{place}"]] for place in "BEIS"} == {(12, 13)}
    assert [*states] == [*range(1, 1 + 6 * 4 + 1)]


def test_a_word_is_numbered_by_its_own_phones_where_it_has_some() -> None:
    number = {"T": 1, "UW": 2, "T@two": 3, "UW@two": 4}
    assert numbered("two", [("T", "UW")], number) == [(3, 4)]
    assert numbered("too", [("T", "UW")], number) == [(1, 2)]


def walks(told: States) -> set[tuple[int, ...]]:
    """The phones of every way through the states, one step each: from boundary 0 to behind the last word."""
    words = max(told.boundary)
    found = set[tuple[int, ...]]()

    def go(state: int, said: tuple[int, ...]) -> None:
        said = (*said, told.phone[state])
        for after in range(len(told.phone)):
            if told.before[after] == state:
                go(after, said)
        silent = told.before[state] == ENTRY and told.phone[state] == 0
        here = told.boundary[state] + (0 if silent else 1)
        if silent or told.last[state]:
            if here == words:
                found.add(said)
            arrive(here, said, after_silence=silent)

    def arrive(boundary: int, said: tuple[int, ...], *, after_silence: bool) -> None:
        for state, (before, at) in enumerate(zip(told.before, told.boundary, strict=True)):
            if before == ENTRY and at == boundary and not (after_silence and told.phone[state] == 0):
                go(state, said)

    arrive(0, (), after_silence=False)
    return found


FORM = st.lists(st.integers(1, 5), min_size=1, max_size=3).map(tuple)


@given(st.lists(st.lists(FORM, min_size=1, max_size=2, unique=True), min_size=1, max_size=3))
def test_the_ways_through_are_the_pronunciations_with_silence_or_none_between(
    words: list[list[tuple[int, ...]]],
) -> None:
    wanted = set[tuple[int, ...]]()
    for forms in product(*words):
        for silences in product([(), (0,)], repeat=len(words) + 1):
            said = silences[0]
            for form, silence in zip(forms, silences[1:], strict=True):
                said = (*said, *form, *silence)
            wanted.add(said)
    assert walks(states(words)) == wanted


def test_a_text_by_hand() -> None:
    told = states([[(3,), (4, 5)]])
    assert told.phone == (0, 0, 3, 4, 5)
    assert told.before == (ENTRY, ENTRY, ENTRY, ENTRY, 3)
    assert told.boundary == (0, 1, 0, 0, 0)
    assert told.last == (False, False, True, False, True)


def test_no_words_at_all_is_one_silence() -> None:
    assert states([]).phone == (0,)


@pytest.mark.parametrize("name", ["SIL", "AA_B"])
def test_the_way_out_follows_the_self_loop(name: str) -> None:
    phones = Phones(model_folder() / "graph" / "phones.txt")
    assert phones.forward(name) == phones.loop(name) + 1
