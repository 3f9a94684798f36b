"""The shelf of grammars as a whole: sound, known to the session, and in the lexicon."""

import re
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from assistant.core.asks import next_ask
from assistant.core.conditions import KINDS
from assistant.core.meaning import Meaning
from assistant.core.session import _ACTS
from assistant.speech.grammars import asks, grammar, lexicon, vocabulary
from assistant.speech.jsgf import Alternatives, Expansion, Grammar, GrammarError, Optional, RuleRef, Sequence, Tag
from assistant.speech.sampler import count, sample, sentences
from assistant.speech.understand import meanings
from assistant.wording import messages

SMALL = 50_000
"""Grammars up to this size are proven sentence by sentence, larger ones on samples."""
SAMPLES = 5000
PHONES = set(
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split()
)


def tags(part: Expansion, of: Grammar) -> set[str]:
    match part:
        case Tag(text):
            return {text}
        case RuleRef(name):
            return tags(of.rule(name), of)
        case Optional(inner):
            return tags(inner, of)
        case Sequence(parts) | Alternatives(parts):
            return set().union(*(tags(each, of) for each in parts))
        case _:
            return set()


def acts(ask: str) -> set[str]:
    return {each[4:] for each in tags(grammar(ask).root, grammar(ask)) if each.startswith("act=")}


@pytest.mark.parametrize("ask", asks())
def test_every_sentence_has_exactly_one_meaning(ask: str) -> None:
    every = count(grammar(ask)) <= SMALL
    dice = Random(ask)
    found = sentences(grammar(ask)) if every else (sample(grammar(ask), dice) for _ in range(SAMPLES))
    for sentence in found:
        told = meanings(sentence, grammar(ask))
        assert len(told) == 1, f"'{sentence}': {told}"


@pytest.mark.parametrize("ask", asks())
def test_no_sentence_is_reached_twice(ask: str) -> None:
    if count(grammar(ask)) <= 300_000:
        found = list(sentences(grammar(ask)))
        assert len(set(found)) == len(found)
    else:
        assert len(set(islice(sentences(grammar(ask)), 20_000))) == 20_000


def test_the_session_knows_every_act_and_no_other() -> None:
    assert set().union(*(acts(each) for each in asks())) == set(_ACTS)


def test_every_ask_hears_the_commands_except_while_paused() -> None:
    always = {"repeat", "left", "where", "undo", "back", "pause", "help", "cancel", "note", "louder", "slower"}
    assert [each for each in asks() if not always <= acts(each)] == ["paused"]


def test_every_ask_has_its_options() -> None:
    keys = {each.removeprefix("options_") for each in messages() if each.startswith("options_")}
    assert {each.removesuffix("_in_metres") for each in keys} == set(asks())


def test_every_grammar_asked_for_exists() -> None:
    """The names the core can ask for, as they stand in its source, are those on the shelf."""
    source = Path(next_ask.__code__.co_filename).read_text(encoding="utf-8")
    named = set(re.findall(r'Ask\("(\w+)"', source))
    assert named | set(KINDS) == set(asks())


@pytest.mark.parametrize("key", [each for each in messages() if each.startswith("options_") and each != "options_job"])
def test_examples_offered_are_understood(key: str) -> None:
    """'Say: one and a half, hooked, or skip.' names three sentences of that ask; in metres they are of that tape."""
    said = messages()[key][0].removeprefix("Say: ").removesuffix(".")
    ask, metric = key.removeprefix("options_").removesuffix("_in_metres"), key.endswith("_in_metres")
    for example in re.split(r", or |, ", said):
        (meaning,) = meanings(example, grammar(ask))
        assert {each.unit for each in meaning.quantities} <= (
            {"mm"} if metric else {each.unit for each in meaning.quantities} - {"mm"}
        ), example


def test_an_unknown_ask_is_named() -> None:
    with pytest.raises(GrammarError, match="grammar dance: no such file; known are attention, choose, close, commands"):
        grammar("dance")


def test_the_lexicon_has_every_word_and_no_stray_phone() -> None:
    table = lexicon()
    assert vocabulary() <= table.keys()
    assert {phone for ways in table.values() for phones in ways for phone in phones} <= PHONES
    assert all(len(set(ways)) == len(ways) and all(ways) for ways in table.values())
    assert len(table["a"]) == 2


def test_the_lexicon_has_no_word_nobody_says() -> None:
    assert lexicon().keys() == vocabulary()


def test_missing_words_are_named(tmp_path: Path) -> None:
    file = tmp_path / "lexicon.txt"
    lines = [f"{word} AH" for word in sorted(vocabulary() - {"hooked", "yes"})]
    file.write_text("\n".join(["# note", "", *lines]), encoding="utf-8")
    with pytest.raises(GrammarError, match=r"lexicon\.txt lacks hooked, yes: add a line 'word PHONE"):
        lexicon(file)


def test_a_meaning_defaults_to_an_act_alone() -> None:
    assert meanings("pause", grammar("size")) == [Meaning("pause")]
