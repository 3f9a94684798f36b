"""The job code: readable, typo-proof, and held against a file it finds what the chain alone cannot."""

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.exits import Exit, Refusal
from assistant.record.chain import START, chained, first_break
from assistant.record.code import (
    DIGITS,
    WORDS,
    Match,
    _check,
    check_code,
    code_of,
    code_words,
    job_code,
    read_code,
    sealed,
)
from assistant.shelf import grammars_folder
from tests.record import scenario

ROWS = scenario.rows()
CODE = job_code(ROWS)


def near(one: str, two: str) -> bool:
    """At most one letter apart."""
    if abs(len(one) - len(two)) > 1 or one == two:
        return one == two
    short, long = sorted((one, two), key=len)
    if len(short) == len(long):
        return sum(a != b for a, b in zip(one, two, strict=True)) <= 1
    return any(long[:at] + long[at + 1 :] == short for at in range(len(long)))


def test_256_plain_words_none_a_typing_error_of_another() -> None:
    words = code_words()
    assert len(words) == len(set(words)) == 256
    assert all(each.isascii() and each.isalpha() and each.islower() and len(each) <= 8 for each in words)
    assert not [pair for pair in combinations(words, 2) if near(*pair)]


def test_no_word_is_a_command_or_a_number_of_the_grammars() -> None:
    lexicon = (grammars_folder() / "lexicon.txt").read_text(encoding="utf-8").splitlines()
    assert not set(code_words()) & {line.split()[0] for line in lexicon if line and not line.startswith("#")}


def test_form_of_a_code() -> None:
    words = CODE.split()
    assert len(words) == WORDS + DIGITS
    assert all(each in code_words() for each in words[:WORDS])
    assert all(each.isdecimal() and len(each) == 1 for each in words[WORDS:])


def test_the_code_of_the_first_link_never_changes() -> None:
    """Codes already read out must stay good: this is the format's own check value."""
    assert code_of(START) == FIRST


FIRST = "coral turkey spider lobster lilac 4 4 7"


@given(st.lists(st.integers(0, 255), min_size=WORDS, max_size=WORDS), st.data())
def test_one_wrong_word_and_two_swapped_are_found(numbers: list[int], data: st.DataObject) -> None:
    at = data.draw(st.integers(0, WORDS - 1))
    other = data.draw(st.integers(0, 255))
    wrong = [*numbers[:at], other, *numbers[at + 1 :]]
    assert (_check(wrong) == _check(numbers)) == (wrong == numbers)
    place = data.draw(st.integers(0, WORDS - 2))
    swapped = [*numbers[:place], numbers[place + 1], numbers[place], *numbers[place + 2 :]]
    assert (_check(swapped) == _check(numbers)) == (swapped == numbers)


def test_spelling_does_not_matter() -> None:
    words = CODE.split()
    typed = f" {'-'.join(words[:WORDS]).upper()}, {''.join(words[WORDS:])}. "
    assert read_code(typed) == CODE


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (CODE.replace(CODE.split()[0], "brick"), "'brick' is not a word of any code"),
        (" ".join(CODE.split()[1:]), "4 words and 3 digits given"),
        (CODE[:-1], "5 words and 2 digits given"),
        ("", "0 words and 0 digits given"),
        (CODE[:-1] + ("0" if CODE[-1] != "0" else "1"), "check digits do not fit"),
        (" ".join([CODE.split()[1], CODE.split()[0], *CODE.split()[2:]]), "check digits do not fit"),
    ],
)
def test_a_typing_error_is_told_from_a_wrong_file(typed: str, told: str) -> None:
    with pytest.raises(Refusal, match=told) as found:
        check_code(typed, ROWS)
    assert found.value.code is Exit.USAGE


def test_untouched() -> None:
    assert check_code(CODE, ROWS).match is Match.FITS
    assert check_code(CODE, ROWS).seq == len(ROWS)


def test_a_row_hash_never_changes_and_fields_cannot_flow_into_each_other() -> None:
    """The first is the format's check value for files already written."""
    row = chained(1, "w", 1, "ab", "c", START)
    assert row.hash == "a585977a93ecfade802bfacc84112133fe6458a9a8ca12f68d18a3ef6c3660c3"
    assert chained(1, "w", 1, "a", "bc", START).hash != row.hash


def test_edit_and_cut_inside_are_found_by_the_chain() -> None:
    """R13, first half."""
    edited = (*ROWS[:9], replace(ROWS[9], payload="{}"), *ROWS[10:])
    assert first_break(edited) == (10, "row 10 was changed or damaged, or a row before it was taken out")
    assert first_break((*ROWS[:9], *ROWS[10:])) == (10, "row 10 is missing")
    renumbered = (*ROWS[:9], *(replace(each, seq=each.seq - 1) for each in ROWS[10:]))
    assert first_break(renumbered) is not None
    swapped = (*ROWS[:9], ROWS[10], ROWS[9], *ROWS[11:])
    assert first_break(swapped) is not None


def test_tail_cut_and_whole_replaced_pass_the_chain_and_fail_the_code() -> None:
    """R13, second half: exactly these two need the code."""
    cut = ROWS[:-1]
    assert first_break(cut) is None
    assert check_code(CODE, cut).match is Match.DIFFERS
    other, before = [], START
    for row in ROWS:
        payload = row.payload.replace("23/16", "25/16")
        other.append(chained(row.seq, row.wall, row.monotonic_ms, row.kind, payload, before))
        before = other[-1].hash
    assert first_break(other) is None
    assert check_code(CODE, other).match is Match.DIFFERS


def test_rows_added_after_the_close_are_said_to_be_so() -> None:
    last = ROWS[-1]
    more = (*ROWS, chained(last.seq + 1, last.wall, last.monotonic_ms, "paused", "{}", last.hash))
    assert check_code(CODE, more).match is Match.LONGER
    assert check_code(CODE, more).seq == last.seq
    assert job_code(more) == CODE
    seal = sealed(more)
    assert seal is not None and seal.seq == last.seq


def test_an_open_job_has_a_code_so_far() -> None:
    half = ROWS[:30]
    assert job_code(half) == code_of(half[-1].hash)
    assert check_code(job_code(half), half).match is Match.FITS
    assert job_code(()) == code_of(START)
    assert sealed(()) is None


@settings(max_examples=5, deadline=None)
@given(st.binary(min_size=32, max_size=32))
def test_every_code_reads_back(head: bytes) -> None:
    assert read_code(code_of(head.hex())) == code_of(head.hex())


def test_the_word_list_is_a_data_file() -> None:
    assert (Path(__file__).parents[2] / "assistant" / "record" / "code_words.txt").is_file()
