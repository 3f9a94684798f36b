"""`pullcall practice --voice` without sound: it listens by the manners of a real session, through the same hearer."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest

from assistant.attention import Attention, Manners
from assistant.core.length import System, feet
from assistant.hearer import Hearer
from assistant.practice.learner import Preset
from assistant.practice_command import _Mute
from assistant.practice_job import Practice, open_job
from assistant.practice_voice import Lesson
from assistant.record.clock import SystemClock
from assistant.settings import Settings
from assistant.speech.text_ears import TextEars
from assistant.workplace import Workplace

QUIET = SimpleNamespace(deaf=False)


@pytest.fixture
def practice(tmp_path: Path) -> Iterator[Practice]:
    """Set up to its first pull, which is to be made ready for."""
    place = Workplace(TextEars(), _Mute(), SystemClock(), Settings().started("test", "none"))
    with closing(open_job(tmp_path / "p", place)) as job:
        found = Practice(job, place, 7, Preset(feet(9), feet(8), System.IMPERIAL), lambda text: None)
        found.open()
        assert found.conversation.ask is not None and found.conversation.ask.grammar == "ready"
        yield found


def hearer(practice: Practice, attention: Attention, *lines: str) -> Hearer:
    """What is typed is heard; samples have two bytes."""
    blocks = [(each if len(each) % 2 == 0 else f" {each}").encode() for each in lines]
    lesson = Lesson(practice, Settings().ask_again_s)
    return Hearer(blocks, practice.ears, lesson, QUIET, lambda news: None, attention)  # type: ignore[arg-type]


def test_an_answer_is_heard_as_the_manners_say(practice: Practice, capsys: pytest.CaptureFixture[str]) -> None:
    attention = Attention(Manners(tap=True))
    hearer(practice, attention, "ready\n", "ready\n").listen()
    assert practice.conversation.ask is not None and practice.conversation.ask.grammar == "ready", "no key was pressed"
    attention.press()
    hearer(practice, attention, "ready\n", "half an inch\n").listen()
    assert practice.conversation.ask.grammar == "pull"
    assert practice.conversation.state.record.readings == (), "one answer for each press"
    assert capsys.readouterr().out.count("you:    ready") == 1


def test_the_attention_word_comes_first(practice: Practice) -> None:
    hearer(practice, Attention(Manners("wake up stretcher")), "ready\n", "wake up stretcher\n", "ready\n").listen()
    assert practice.conversation.ask is not None and practice.conversation.ask.grammar == "pull"
    assert practice.conversation.state.misses.nomatch == 0


def test_silence_is_asked_again_as_in_a_real_session(practice: Practice) -> None:
    for each in ("ready", "three inches"):
        practice.say(each)
    assert practice.conversation.ask is not None and practice.conversation.ask.grammar == "confirm"
    lesson = Lesson(practice, 20)
    for seconds in (19.0, 0.5):
        lesson.listened(0, seconds, speaking=False)
    assert practice.conversation.state.misses.noinput == 0
    lesson.listened(0, 0.5, speaking=False)
    assert practice.conversation.state.misses.noinput == 1
    Lesson(practice, 0).listened(0, 1000.0, speaking=False)
    assert practice.conversation.state.misses.noinput == 1, "0 = never"


def test_who_works_at_a_pull_is_not_asked_again(practice: Practice) -> None:
    practice.say("ready")
    Lesson(practice, 20).listened(0, 1000.0, speaking=False)
    assert practice.conversation.state.misses.noinput == 0
