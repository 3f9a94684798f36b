"""Best paths against brute force: every way through is walked by hand-written recursion, no code of the paths used."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speech.witness_paths import (
    NEVER,
    PAUSE,
    PHONE_COST,
    WORD_COST,
    Loop,
    Variants,
    best,
    chain,
    stretches,
)

PHONES = 4


def drawn(frames: int, seed: int) -> np.ndarray:
    """[frames, two outputs for silence and each phone]"""
    return np.random.default_rng(seed).normal(0, 3, (frames, 2 * PHONES + 2)).astype(np.float32)


def along(scores: np.ndarray, phones: tuple[int, ...]) -> float:
    """The best way to spread these phones over all frames, one frame each at least."""
    frames = len(scores)
    found = -np.inf
    for firsts in product(range(frames), repeat=len(phones)):
        if firsts[:1] == (0,) and list(firsts) == sorted(set(firsts)):
            of = [sum(first <= frame for first in firsts) - 1 for frame in range(frames)]
            total = sum(scores[f, 2 * phones[of[f]] + (f not in firsts)] for f in range(frames))
            found = max(found, total)
    return float(found)


def ways(words: list[Variants]) -> set[tuple[int, ...]]:
    """Every sequence of phones a sentence may be, silence (0) or none before, between and after."""
    made = set()
    for forms in product(*words):
        for silent in product((False, True), repeat=len(words) + 1):
            said = (0,) * silent[0]
            for form, gap in zip(forms, silent[1:], strict=True):
                said += (*form, *(0,) * gap)
            made.add(said)
    return made


FORM = st.lists(st.integers(1, PHONES), min_size=1, max_size=2).map(tuple)
SENTENCE = st.lists(st.lists(FORM, min_size=1, max_size=2), min_size=1, max_size=2)


@given(st.lists(SENTENCE, min_size=1, max_size=3), st.integers(1, 5), st.integers(0, 99))
def test_the_best_path_of_a_sentence_is_the_best_of_all(
    sentences: list[list[Variants]], frames: int, seed: int
) -> None:
    scores = drawn(frames, seed)
    found = best(scores, [chain(each) for each in sentences])
    for each, sentence in zip(found, sentences, strict=True):
        wanted = max(along(scores, said) for said in ways(sentence))
        assert each == pytest.approx(wanted, abs=1e-3) if np.isfinite(wanted) else each < NEVER / 2


@given(SENTENCE, st.integers(1, 6), st.integers(0, 99))
def test_the_best_path_falls_into_words_and_pauses(sentence: list[Variants], frames: int, seed: int) -> None:
    """Without a hole, the words in their order, each stretch as likely as can be, all together the best path."""
    scores = drawn(frames, seed)
    (likely,) = best(scores, [chain(sentence)])
    found = stretches(scores, chain(sentence))
    if likely < NEVER / 2:
        assert found == []
        return
    assert [each.begin for each in found] + [frames] == [0, *(each.end for each in found)]
    assert [each.word for each in found if each.word != PAUSE] == [*range(len(sentence))]
    assert sum(each.likely for each in found) == pytest.approx(likely, abs=1e-3)
    for each in found:
        forms = [(0,)] if each.word == PAUSE else sentence[each.word]
        wanted = max(along(scores[each.begin : each.end], form) for form in forms)
        assert each.likely == pytest.approx(wanted, abs=1e-3)


def test_no_sentence_and_no_sound() -> None:
    assert best(drawn(3, 1), []) == []
    assert best(drawn(0, 1), [chain([[(1,)]])])[0] <= NEVER
    assert stretches(drawn(0, 1), chain([[(1,)]])) == []
    assert Loop(PHONES, []).best(drawn(0, 1)) == 0.0


@given(
    st.lists(st.lists(st.integers(1, PHONES), min_size=2, max_size=3).map(tuple), max_size=2),
    st.integers(1, 4),
    st.integers(0, 99),
)
def test_other_speech_is_any_phones_words_and_silences(words: list[tuple[int, ...]], frames: int, seed: int) -> None:
    """Silence costs nothing, a phone and a word what they cost."""
    scores = drawn(frames, seed)
    pieces = [((0,), 0.0), *(((p,), PHONE_COST) for p in range(1, PHONES + 1)), *((word, WORD_COST) for word in words)]
    found = -np.inf
    for count in range(1, frames + 1):
        for said in product(pieces, repeat=count):
            phones = tuple(phone for form, _ in said for phone in form)
            if len(phones) <= frames:
                found = max(found, along(scores, phones) - sum(cost for _, cost in said))
    assert Loop(PHONES, words).best(scores) == pytest.approx(found, abs=1e-3)
