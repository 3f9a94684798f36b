"""The conversation: durable first, then said; resumed at the very question where it stopped."""

from collections.abc import Sequence

import pytest

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.length import millimetres
from assistant.core.meaning import Meaning
from assistant.core.tone import Tone
from assistant.exits import Exit, Refusal
from assistant.orders import read_order
from assistant.ports import Heard
from assistant.record.memory import MemoryStore
from assistant.speech.grammars import grammar
from assistant.speech.understand import candidates, twins, understand
from assistant.wording import Wording

STARTED = ev.Started("test", "words", read_order())


def heard(text: str, ask: str) -> Heard:
    return Heard(text, understand(text, grammar(ask)), 1.0, 0.0, 1.0)


class Talk:
    """A conversation by words."""

    def __init__(self, store: MemoryStore) -> None:
        self.said: list[Wording] = []
        self.conversation = Conversation(store, lambda wording, tone: self.said.append(wording), STARTED)

    def take(self, *texts: str) -> None:
        for text in texts:
            ask = self.conversation.ask
            assert ask is not None
            self.conversation.take(heard(text, ask.grammar))


SET_UP = (
    "job four two seven", "tufted", "no figure", "the same", "seventy degrees", "forty percent", "thirty hours",
    "skip the rest", "nine feet", "yes", "eight feet", "yes", "it is square",
    "no openings", "door left", "door to far", "ready",
)  # fmt: skip


def test_a_job_is_resumed_at_the_same_question() -> None:
    store = MemoryStore()
    first = Talk(store)
    for text in (*SET_UP, "three eighths", "scratch that", "one inch", "hooked"):
        first.take(text)
        again = Talk(store)
        assert again.conversation.ask == first.conversation.ask
        assert again.conversation.state == first.conversation.state


class FullStore(MemoryStore):
    """A disk that fills up."""

    full = False

    def append(self, rows: Sequence[tuple[str, str]]) -> int:
        if self.full:
            raise Refusal(Exit.NOT_WRITABLE, "full")
        return super().append(rows)


def test_nothing_is_acknowledged_that_was_not_written() -> None:
    store = FullStore()
    talk = Talk(store)
    talk.take(*SET_UP)
    said, rows, state = len(talk.said), len(list(store.rows())), talk.conversation.state
    store.full = True
    with pytest.raises(Refusal):
        talk.take("one inch")
    assert (len(talk.said), len(list(store.rows())), talk.conversation.state) == (said, rows, state)


def test_what_was_heard_is_logged_with_what_came_of_it() -> None:
    store = MemoryStore()
    Talk(store).take("job seven")
    kinds = [kind for kind, _ in store.rows()]
    assert kinds == ["started", "said", "job_named"]


def test_noise_without_words_is_passed_over_and_silence_is_counted() -> None:
    store = MemoryStore()
    talk = Talk(store)
    talk.conversation.take(Heard("", None, 0.0, 0.0, 1.0))
    assert len(list(store.rows())) == 1
    talk.conversation.take(None)
    assert talk.conversation.state.misses.noinput == 1
    assert [each.say for each in talk.said] == ["I heard nothing.", "Job number?"]


def metric(talk: Talk) -> Talk:
    talk.take(
        "job one", "tufted", "no figure", "the same", "skip the rest", "three metres by three metres sixty", "yes"
    )
    talk.take("it is square", "no openings", "door left", "door to far", "ready")
    return talk


FIFTEEN = Heard("fifteen millimetres", understand("fifteen millimetres", grammar("pull")), 0.99, 0.0, 1.0,
                twins("fifteen millimetres", grammar("pull")))  # fmt: skip


def test_a_figure_that_sounds_like_another_is_asked_about_where_it_was_heard_and_taken_where_it_was_tapped() -> None:
    store = MemoryStore()
    talk = metric(Talk(store))
    talk.conversation.take(FIFTEEN, by="tap")
    assert talk.conversation.state.record.reading == millimetres(15)
    talk.take("scratch that")
    before = len(list(store.rows()))
    talk.conversation.take(FIFTEEN)
    assert [kind for kind, _ in store.rows()][before:] == ["said", "offered"]
    assert [each.say for each in talk.said[-5:]] == [
        "First: fifteen millimetres.", "One five.", "Second: fifty millimetres.", "Five zero.",
        "The first, the second, or neither?",
    ]  # fmt: skip
    assert Talk(store).conversation.ask == talk.conversation.ask, "a job is resumed at the choice"
    talk.take("the second")
    assert [kind for kind, _ in store.rows()][before + 3 :] == ["said", "chosen", "reading_taken"]
    assert talk.conversation.state.record.reading == millimetres(50)


def test_what_is_not_trusted_is_asked_about_and_never_taken() -> None:
    talk = metric(Talk(MemoryStore()))
    talk.conversation.take(Heard("hooked", None, 0.4, 0.0, 1.0, candidates(["hooked", "skip"], grammar("pull"))))
    assert [each.text for each in talk.conversation.state.offered] == ["hooked", "skip"]
    assert talk.conversation.ask is not None and talk.conversation.ask.grammar == "choose"


def test_out_of_grammar_speech_is_asked_again() -> None:
    talk = Talk(MemoryStore())
    talk.conversation.take(Heard("[unk]", None, 0.4, 0.0, 1.0))
    assert talk.said[-1].say == "Again, please."


def test_louder_is_louder_from_the_next_word_on_and_after_a_stop() -> None:
    store, tones = MemoryStore(), []
    conversation = Conversation(store, lambda wording, tone: tones.append(tone), STARTED)
    conversation.take(heard("louder", "job"))
    Conversation(store, lambda wording, tone: tones.append(tone), STARTED).open()
    assert tones == [Tone(loudness=1), Tone(loudness=1)]


def test_taps_are_logged_as_taps() -> None:
    store = MemoryStore()
    talk = Talk(store)
    talk.conversation.take(Heard("job 7", Meaning("job", digits="7"), 1.0, 0.0, 0.0), by="tap")
    assert '"by":"tap"' in list(store.rows())[1][1]
