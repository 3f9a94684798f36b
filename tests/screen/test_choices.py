"""Tap does all that voice does: keys and pads make every act of every ask's grammar."""

from collections.abc import Iterator

import pytest

from assistant.core.length import System
from assistant.core.meaning import Meaning
from assistant.screen.choices import MORE, AskTaps, Choice, asks, taps
from assistant.shelf import grammars_folder
from assistant.speech.grammars import grammar
from assistant.speech.jsgf import Alternatives, Expansion, Grammar, Optional, RuleRef, Sequence, Tag
from assistant.speech.understand import understand

NO_ASKS = {"attention", "commands", "lengths", "numbers"}
"""Grammars that others import, and that of the attention words."""
ASKS = sorted({file.stem for file in grammars_folder().glob("*.jsgf")} - NO_ASKS)


def tags(part: Expansion, found: Grammar) -> Iterator[str]:
    match part:
        case Tag(text):
            yield text
        case RuleRef(name):
            yield from tags(found.rule(name), found)
        case Sequence(parts) | Alternatives(parts):
            for each in parts:
                yield from tags(each, found)
        case Optional(inner):
            yield from tags(inner, found)
        case _:
            pass


def acts(ask: str) -> set[str]:
    found = grammar(ask)
    return {each.removeprefix("act=") for each in tags(found.root, found) if each.startswith("act=")}


def words(ask: str) -> set[str]:
    found = grammar(ask)
    return {each.removeprefix("word=") for each in tags(found.root, found) if each.startswith("word=")}


def meanings(ask: str, system: System | None = None) -> list[Meaning]:
    found = [understand(each.on(system).sentence, grammar(ask)) for each in taps(ask).listed]
    return [each for each in found if each is not None]


def test_every_ask_can_be_tapped() -> None:
    assert sorted(asks()) == ASKS


@pytest.mark.parametrize("ask", ASKS)
def test_every_sentence_that_is_shown_is_heard_at_its_ask(ask: str) -> None:
    deaf = [each.sentence for each in taps(ask).listed if understand(each.sentence, grammar(ask)) is None]
    assert not deaf


@pytest.mark.parametrize("ask", ASKS)
@pytest.mark.parametrize("system", System)
def test_once_a_room_has_its_tape_every_length_that_is_shown_is_of_that_tape(ask: str, system: System) -> None:
    """But for cushion and gully, which may be of either."""
    shown = meanings(ask, system)
    assert [each.act for each in shown] == [each.act for each in meanings(ask)]
    told = {each.unit for meaning in shown for each in meaning.quantities} & {"in", "mm"}
    assert ask in ("cushion", "gully") or told <= {"in" if system is System.IMPERIAL else "mm"}


@pytest.mark.parametrize("ask", ASKS)
def test_every_act_of_the_grammar_can_be_tapped(ask: str) -> None:
    assert acts(ask) - {each.act for each in meanings(ask)} == set()


@pytest.mark.parametrize("ask", ASKS)
def test_every_word_to_choose_from_can_be_tapped(ask: str) -> None:
    """A reason to skip is tapped at the next ask; a wall's side and a turn are words of a pad."""
    pads = " ".join(f"{pad.begin} {' '.join(pad.words)}" for pad in taps(ask).pads).replace(" ", "_")
    tapped = {each.word for each in meanings(ask)} | {each for each in words(ask) if each in pads}
    later = words("skip") if ask == "pull" else set()
    assert words(ask) - later - tapped == set()


@pytest.mark.parametrize("ask", ASKS)
def test_every_choice_says_something_or_opens_a_pad_of_its_ask(ask: str) -> None:
    pads = {each.name for each in taps(ask).pads}
    for each in taps(ask).choices:
        assert bool(each.say) != bool(each.pad), each
        assert not each.pad or (each.pad in pads and each.like), each
    assert {each.pad for each in taps(ask).choices if each.pad} == pads


@pytest.mark.parametrize("ask", ASKS)
def test_there_are_at_most_three_big_keys_and_the_last_opens_the_list(ask: str) -> None:
    keys = taps(ask).keys
    assert 1 <= len(keys) <= 3
    last = {"paused": Choice("Resume", say="resume"), "choose": Choice("Neither", say="neither")}
    assert keys[-1] == last.get(ask, MORE)


def test_while_paused_nothing_but_resume_is_offered() -> None:
    assert [each.say for each in taps("paused").listed] == ["resume"]


def test_what_an_ask_has_itself_is_not_listed_twice() -> None:
    for ask in ASKS:
        said = [each.sentence for each in taps(ask).listed]
        assert len(said) == len(set(said)), ask


def test_a_table_with_one_choice_has_one_key_and_the_list() -> None:
    one = AskTaps((Choice("Ready", say="ready"),), (), alone=False)
    assert one.keys == (Choice("Ready", say="ready"), MORE)
