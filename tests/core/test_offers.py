"""What may have been another sentence: (what the ears thought of) -> what is offered -> chosen -> what stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from assistant.core import events as ev
from assistant.core.fold import fold
from assistant.core.length import Length, inches, millimetres
from assistant.core.meaning import Candidate, Meaning, Quantity
from assistant.core.offers import careful, unsure
from assistant.core.session import respond
from assistant.record.codec import decode, encode
from assistant.speech.grammars import grammar
from assistant.speech.understand import candidates, twins, understand

if TYPE_CHECKING:
    from conftest import Talk

METRIC = (
    *("job one", "tufted", "no figure", "the same", "skip the rest", "three metres by three metres sixty", "yes"),
    *("it is square", "no openings", "door left", "door to far", "ready"),
)
"""Up to the first pull: it spans 3.6 m, its band begins at 36 mm, and a reading is doubted from 72 mm on."""


def hear_one_of(talk: Talk, *texts: str) -> Talk:
    """The ears trust none of them."""
    talk.take(unsure(talk.state, candidates(texts, grammar(talk.asks))))
    return talk


def hear_well(talk: Talk, text: str) -> Talk:
    """The ears are sure, as far as ears can be."""
    meaning = understand(text, grammar(talk.asks))
    assert meaning is not None
    talk.take(careful(talk.state, Candidate(text, meaning), twins(text, grammar(talk.asks))))
    return talk


def read(talk: Talk) -> list[Length]:
    return [each.moved for each in talk.state.record.readings]


# --- Unsure -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answer", "stands"),
    [
        ("the first", [inches("13/8")]),
        ("number one", [inches("13/8")]),
        ("the second", [inches("15/8")]),
        ("number two", [inches("15/8")]),
        ("neither", []),
        ("cancel that", []),
        ("scratch that", []),
        ("mumble", []),
        ("one", []),  # the begin of 'one and five eighths' said again chooses nothing
        ("note seam", []),
    ],
)
def test_of_two_sentences_the_speaker_says_which(pulling: Talk, answer: str, stands: list[Length]) -> None:
    hear_one_of(pulling, "one and five eighths", "one and seven eighths", "two inches")
    assert read(pulling) == []
    assert pulling.asks == "choose"
    assert pulling.asked == [
        "First: one and five eighths.",
        "Second: one and seven eighths.",
        "The first, the second, or neither?",
    ]
    pulling.hear(answer)
    assert read(pulling) == stands
    assert pulling.asks == ("choose" if answer in ("mumble", "one") else "pull")


def test_what_was_chosen_is_answered_as_if_it_had_been_understood(pulling: Talk) -> None:
    plain = respond(pulling.state, Meaning("reading", (Quantity(inches("13/8").inches, "in"),)))
    hear_one_of(pulling, "one and five eighths", "one and seven eighths").hear("the first")
    assert pulling.turn.lines == plain.lines
    assert pulling.turn.events == (ev.Chosen(1), *plain.events)


def test_neither_asks_the_same_again(pulling: Talk) -> None:
    asked = pulling.ask
    hear_one_of(pulling, "hooked", "skip").hear("neither")
    assert (pulling.keys, pulling.turn.ask_again, pulling.ask) == (["rejected"], True, asked)


def test_one_sentence_alone_is_asked_with_yes_or_no(pulling: Talk) -> None:
    hear_one_of(pulling, "it slipped")
    assert (pulling.asks, pulling.asked) == ("confirm", ["Did I hear: it slipped? Yes or no?"])
    assert not pulling.state.record.slipped
    pulling.hear("no")
    assert (pulling.state.record.slipped, pulling.asks) == (False, "pull")
    hear_one_of(pulling, "it slipped").hear("yes")
    assert (pulling.state.record.slipped, pulling.asks) == (True, "pull")


def test_what_waits_for_a_yes_anyhow_is_asked_once(talk: Talk) -> None:
    talk.hear(*METRIC[:5])
    hear_one_of(talk, "three metres fifteen")
    assert talk.keys == []
    assert talk.state.proposed is not None
    assert talk.asked[-1] == "Three, one five."
    talk.hear("yes")
    assert talk.state.sides


def test_a_choice_of_sizes_still_wants_its_yes(talk: Talk) -> None:
    talk.hear(*METRIC[:5])
    hear_one_of(talk, "three metres fifteen", "three metres fifty")
    assert talk.asked == [
        "First: three metres fifteen.",
        "Three, one five.",
        "Second: three metres fifty.",
        "Three, five zero.",
        "The first, the second, or neither?",
    ]
    talk.hear("the second")
    assert talk.state.sides == {}
    assert talk.hear("yes").state.sides.popitem()[1] == millimetres(3500)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("said", "digits"), [("sixty percent", "six zero"), ("sixty two percent", ""), ("sixteen percent", "one six")]
)
def test_what_sounds_like_another_is_spelt_whatever_its_unit(talk: Talk, said: str, digits: str) -> None:
    talk.hear(*METRIC[:4], "skip")
    hear_one_of(talk, said, "five percent")
    assert talk.asked[1:-2] == ([f"{digits.capitalize()}."] if digits else [])


@pytest.mark.parametrize("before", [("one and five eighths", "hooked"), ("pause",)])
def test_at_an_ask_of_a_word_or_two_it_is_said_again(pulling: Talk, before: tuple[str, ...]) -> None:
    pulling.hear(*before)
    asked = pulling.asks
    assert asked in ("confirm", "hold", "paused")
    if asked == "hold":
        pulling.hear("holds six inches")
    hear_one_of(pulling, *(("resume",) if asked == "paused" else ("yes", "no")))
    assert pulling.keys == ["nomatch"]


def test_nothing_to_offer_is_not_understood(pulling: Talk, talk: Talk) -> None:
    assert hear_one_of(pulling).keys == ["nomatch"]
    talk.hear(*METRIC[:7], "it is square")
    hear_one_of(talk, "far wall doorway from three feet until five feet")
    assert talk.keys == ["nomatch"], "too long to be read out"


def test_after_the_end_nothing_is_offered(pulling: Talk) -> None:
    state = fold([ev.JobFinished()], pulling.state)
    assert [each.key for each in unsure(state, candidates(["hooked"], grammar("pull"))).lines] == ["nomatch"]


# --- Alike ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "said", "offered"),
    [
        ((), "fifteen millimetres", ("fifteen millimetres", "fifty millimetres")),
        ((), "fifty millimetres", ("fifty millimetres", "fifteen millimetres")),
        ((), "moved fifty millimetres strong", ("moved fifty millimetres strong", "moved fifteen millimetres strong")),
        ((), "fifty five millimetres", ()),  # nothing sounds like it
        ((), "eighteen millimetres", ()),  # eighty would be doubted: the ears are believed
        ((), "eighty millimetres", ("eighty millimetres", "eighteen millimetres")),  # and here they are not
        (("twenty millimetres",), "fifty millimetres", ()),  # fifteen is less than the mark has moved
        (("twenty millimetres",), "fifteen millimetres", ("fifteen millimetres", "fifty millimetres")),
        ((), "head fifteen millimetres", ()),  # no verdict hangs on it; it is read back
    ],
)  # fmt: skip
def test_a_reading_that_sounds_like_another_possible_one_is_asked_about(
    talk: Talk, before: tuple[str, ...], said: str, offered: tuple[str, ...]
) -> None:
    talk.hear(*METRIC, *before)
    hear_well(talk, said)
    assert tuple(each.text for each in talk.state.offered) == offered
    if offered:
        assert [each.why for each in talk.turn.events if isinstance(each, ev.Offered)] == ["alike"]
        taken = len(read(talk))
        talk.hear("the second" if "fifteen" in offered[1] or "eighteen" in offered[1] else "the first")
        assert len(read(talk)) == taken or read(talk)[-1] < millimetres(20)


def test_a_hold_reading_is_asked_about_too(talk: Talk) -> None:
    talk.hear(*METRIC, "fifty millimetres", "hooked")
    assert talk.asks == "hold"
    hear_well(talk, "holds fourteen millimetres")
    assert talk.asked[:4] == ["First: holds fourteen millimetres.", "One four.", "Second: holds forty millimetres.",
                              "Four zero."]  # fmt: skip
    talk.hear("the second")
    assert talk.state.records[0].hold is not None
    assert talk.state.records[0].hold.moved == millimetres(40)


def test_a_hold_reading_whose_twin_would_be_doubted_is_believed(talk: Talk) -> None:
    talk.hear(*METRIC, "fifty millimetres", "hooked")
    hear_well(talk, "holds forty millimetres")
    assert (talk.state.offered, talk.keys) == ((), ["holds", "digits", "hold_in_band"])


def test_a_figure_that_cannot_be_is_refused_and_not_offered(talk: Talk) -> None:
    talk.hear(*METRIC)
    hear_well(talk, "fifteen inches")
    assert talk.keys == ["mixed_units_in_millimetres"]


# --- What is kept -----------------------------------------------------------------------------------------------


def test_the_log_holds_what_was_offered_and_what_was_chosen(pulling: Talk) -> None:
    hear_one_of(pulling, "one and five eighths", "one and seven eighths").hear("the second")
    kept = [decode(*encode(each)) for each in pulling.events]
    assert kept == pulling.events
    assert fold(kept) == pulling.state
    half = next(at for at, each in enumerate(kept) if isinstance(each, ev.Offered))
    assert fold(kept[: half + 1]).offered == kept[half].choices  # type: ignore[union-attr]


@pytest.mark.parametrize("number", [-1, 0, 3])
def test_a_number_that_was_not_offered_is_neither(pulling: Talk, number: int) -> None:
    offered = ev.Offered(candidates(["hooked", "skip"], grammar("pull")), "unsure")
    assert fold([offered, ev.Chosen(number)], pulling.state).offered == ()


def test_a_log_that_offers_what_nobody_can_do_any_more_goes_on(pulling: Talk) -> None:
    """An act of a version to come; a yes where two are offered chooses neither."""
    strange = Candidate("sing", Meaning("sing"))
    for offered, answer in (((strange,), "yes"), ((strange, strange), "yes"), ((strange, strange), "choose")):
        state = fold([ev.Offered(offered, "unsure")], pulling.state)
        turn = respond(state, Meaning(answer, word="first" if answer == "choose" else ""))
        assert turn.events == (ev.Chosen(0),)


@pytest.mark.parametrize(
    "event", [ev.Proposed(ev.Hooked(), "?"), ev.SkipAsked(), ev.Rejected(), ev.Scratched(), ev.Slipped(), ev.Chosen(0)]
)
def test_whatever_happens_next_ends_the_choice(pulling: Talk, event: ev.Event) -> None:
    offered = ev.Offered(candidates(["hooked", "skip"], grammar("pull")), "unsure")
    assert fold([offered, event], pulling.state).offered == ()
    assert fold([offered, ev.Paused(), ev.Resumed()], pulling.state).offered
