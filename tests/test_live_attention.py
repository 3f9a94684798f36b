"""The attention word and talking by tap: when an answer is heard, and what is shown meanwhile."""

import io
import weakref
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from assistant.attention import Attention, Manners, attention_words
from assistant.cues import Cue
from assistant.exits import Refusal
from assistant.hearer import Hearer
from assistant.ports import RATE, Ears, Heard, Listener
from assistant.practice.rehearsal import Rehearsal
from assistant.screen.drawn import METER_CELLS, meter
from assistant.screen.news import Listening
from assistant.settings import OPEN_S, Settings, read_settings
from assistant.settings_table import TABLE
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.ears import VoskEars
from assistant.speech.grammars import ATTENTION, asks, grammar
from assistant.speech.microphone import BLOCK
from assistant.speech.text_ears import TextEars
from assistant.speech.understand import understand
from assistant.work_command import _PlainScreen

WORD = "hello tape measure"
CALLED = Manners(WORD)
TAPPED = Manners(tap=True)
DEMO = recordings_folder() / "demo"
SILENCE = bytes(2 * RATE)


class Clock:
    """Time goes by when it is told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Desk:
    """One question after the other, whatever is heard."""

    def __init__(self) -> None:
        self.turn, self.ask = 0, "pull"
        self.heard: list[str] = []

    @property
    def open_question(self) -> tuple[int, str] | None:
        return self.turn, self.ask

    def listened(self, turn: int, seconds: float, speaking: bool) -> None:
        """Silence is no matter here."""

    def hear(self, turn: int, heard: Heard) -> None:
        assert turn == self.turn
        self.heard.append(heard.text)
        self.turn += 1


class Mouth:
    """The speaker: deaf while it is told to be."""

    deaf = False


class Room:
    """A hearer whose blocks are typed, one after the other, in the thread of the test."""

    def __init__(self, manners: Manners, ears: Ears | None = None) -> None:
        self.clock, self.desk, self.mouth = Clock(), Desk(), Mouth()
        self.attention = Attention(manners, self.clock)
        self.news: list[Listening] = []
        parts = (ears or TextEars(), self.desk, self.mouth, self.news.append, self.attention)
        self.hearer = Hearer((), *parts)  # type: ignore[arg-type]

    def say(self, *blocks: str) -> "Room":
        for each in blocks:
            whole = each if len(each) % 2 == 0 else f" {each}"  # samples have two bytes
            self.hearer._feed(whole.encode(), self.mouth.deaf)
        return self

    def play(self, recording: Path) -> "Room":
        sound = read_audio(recording) + SILENCE
        for at in range(0, len(sound), 2 * BLOCK):
            self.hearer._feed(sound[at : at + 2 * BLOCK], self.mouth.deaf)
        return self

    def later(self, seconds: float) -> "Room":
        self.clock.now += seconds
        return self.say("")

    def speaks(self, seconds: float) -> "Room":
        self.mouth.deaf = True
        self.later(seconds)
        self.mouth.deaf = False
        return self


# --- The attention word -----------------------------------------------------------------------------------------


def test_nothing_but_the_word_set_opens_the_ears() -> None:
    room = Room(CALLED).say("hooked\n", "one inch\n", "wake up stretcher\n", "hello tape\n", "[unk]\n", "hooked\n")
    assert room.desk.heard == []
    assert room.attention.waits == f"Say: {WORD}."
    room.say(f"{WORD}\n")
    assert room.attention.waits == ""
    assert room.say("hooked\n").desk.heard == ["hooked"]


def test_the_talk_key_does_as_the_word() -> None:
    room = Room(CALLED)
    room.attention.press()
    assert room.say("hooked\n").later(CALLED.open_s - 0.1).say("one inch\n").desk.heard == ["hooked", "one inch"]


def test_they_close_when_nobody_begins_to_speak_in_time() -> None:
    room = Room(CALLED).say(f"{WORD}\n").later(CALLED.open_s - 0.1).say("hooked\n").later(CALLED.open_s + 0.1)
    assert room.say("hooked\n").desk.heard == ["hooked"]


def test_who_began_in_time_is_heard_to_the_end() -> None:
    room = Room(CALLED).say(f"{WORD}\n").later(CALLED.open_s - 0.1).say("one ")
    room.clock.now += 5.0
    assert room.say("inch\n").desk.heard == ["one inch"]


def test_time_counts_from_the_end_of_the_answer_spoken() -> None:
    room = Room(CALLED).say(f"{WORD}\n", "one inch\n").speaks(5.0).speaks(5.0).later(CALLED.open_s - 0.1)
    assert room.say("hooked\n").desk.heard == ["one inch", "hooked"]


def test_speech_of_its_own_opens_nothing() -> None:
    """The first question, or what is said after a tap."""
    assert Room(CALLED).speaks(5.0).say("hooked\n").desk.heard == []


def test_what_is_not_understood_opens_nothing_anew() -> None:
    """A radio must not keep the ears open by being answered to."""
    room = Room(CALLED).say(f"{WORD}\n").later(5.0).say("[unk]\n").later(5.0)
    assert room.say("hooked\n").desk.heard == ["[unk]"]


# --- Talking by tap ---------------------------------------------------------------------------------------------


def test_a_press_lets_one_utterance_be_heard() -> None:
    room = Room(TAPPED).say("hooked\n", f"{WORD}\n")
    assert (room.desk.heard, room.attention.waits) == ([], "Press T to talk.")
    room.attention.press()
    assert room.attention.waits == ""
    assert room.say("\n", "one inch\n", "hooked\n").desk.heard == ["", "one inch"], "noise without words is none"
    assert room.attention.waits == "Press T to talk."


def test_a_press_while_it_speaks_counts_from_the_silence() -> None:
    room = Room(TAPPED)
    room.attention.press()
    room.speaks(6.0).later(6.0)
    assert room.say("hooked\n").desk.heard == ["hooked"]
    room.attention.press()
    assert room.later(TAPPED.open_s + 0.1).say("hooked\n").desk.heard == ["hooked"]


def test_open_ears_need_neither() -> None:
    room = Room(Manners()).say("one inch\n").later(1000.0).say("hooked\n")
    assert (room.desk.heard, room.attention.waits) == (["one inch", "hooked"], "")
    room.attention.press()
    assert room.attention.waits == ""


class OneAtATime:
    """Ears that see whether their last listener is gone when the next is asked for."""

    def __init__(self) -> None:
        self.held = list[bool]()
        self._last: Callable[[], object] = lambda: None

    def listen(self, ask: str) -> Listener:
        self.held.append(self._last() is not None)
        listener = TextEars().listen(ask)
        self._last = weakref.ref(listener)
        return listener


def test_a_listener_is_let_go_before_the_next_one_since_each_holds_a_model() -> None:
    ears = OneAtATime()
    room = Room(CALLED, ears).say("one")
    room.attention.press()  # another grammar at the same question
    room.say("one")
    room.desk.turn += 1  # another question
    room.say("one")
    assert ears.held == [False, False, False]


# --- Shown ------------------------------------------------------------------------------------------------------


def test_what_is_waited_for_stands_beside_the_level() -> None:
    assert meter(Listening(1.0, False, waits=f"Say: {WORD}.")) == "█" * METER_CELLS + f" say: {WORD}"
    assert meter(Listening(0.0, False, "Too quiet. Come closer.")) == "░" * METER_CELLS + " too quiet"


def test_the_hearer_tells_it_with_the_level() -> None:
    room = Room(TAPPED)
    room.hearer._blocks = [SILENCE] * 3
    room.hearer.listen()
    assert room.news == [Listening(0.0, deaf=False, waits="Press T to talk.")]


def test_a_microphone_that_is_gone_is_told_at_once_and_stays_on_the_screen() -> None:
    room = Room(Manners())
    room.hearer._blocks = [b"", b"", *[SILENCE] * 3]
    room.hearer.listen()
    gone = Listening(0.0, deaf=False, gone=True)
    assert room.news == [gone, gone, Listening(0.0, deaf=False)]
    assert meter(gone) == meter(Listening(0.0, deaf=True, gone=True)) == f"{Cue.WARNING.sign} missing"


# --- The word itself --------------------------------------------------------------------------------------------


def test_the_words_are_no_answers_and_an_ask_of_none() -> None:
    assert ATTENTION not in asks()
    assert attention_words() == (WORD, "listen now carpet", "wake up stretcher")
    assert not [ask for ask in asks() for each in attention_words() if understand(each, grammar(ask))]


WORDS = recordings_folder() / "attention"


@pytest.mark.parametrize("sentence", attention_words())
def test_the_real_ears_hear_the_word_and_then_the_answer(sentence: str) -> None:
    """Synthetic voices that no model was trained on; other talk and another word before it open nothing."""
    ears, other = VoskEars(), next(each for each in attention_words() if each != sentence)
    room = Room(Manners(sentence), ears)
    room.play(DEMO / "18.ogg").play(WORDS / f"{other.replace(' ', '_')}.ogg")
    assert (room.desk.heard, room.attention.open) == ([], False)
    room.play(WORDS / f"{sentence.replace(' ', '_')}.ogg")
    assert (room.desk.heard, room.attention.open) == ([], True)
    assert room.play(DEMO / "18.ogg").desk.heard == ["three quarters"]


# --- Settings ---------------------------------------------------------------------------------------------------


def settings(folder: Path, ears: str) -> Settings:
    (folder / "s.toml").write_text(f"[ears]\n{ears}\n", encoding="utf-8")
    return read_settings(folder / "s.toml")


def test_the_manners_are_settings(tmp_path: Path) -> None:
    assert settings(tmp_path, "").manners == Manners() == Settings().manners
    assert settings(tmp_path, f'attention = "{WORD}"\nopen_s = 12').manners == Manners(WORD, 12.0)
    assert settings(tmp_path, 'talk = "tap"').manners == Manners(tap=True)
    assert Manners().open_s in OPEN_S


@pytest.mark.parametrize(
    ("ears", "told"),
    [
        ('attention = "abracadabra"', "ears.attention = 'abracadabra': must be empty, or one of hello tape measure, "),
        ("attention = 3", "ears.attention = 3"),
        (f'attention = "{WORD}"\ntalk = "tap"', "must be empty where ears.talk = tap"),
        ('talk = "shout"', "ears.talk = 'shout': must be one of open, tap"),
        ("open_s = 2", "ears.open_s = 2: must be a whole number from 3 to 30 seconds"),
        ("open_s = 8.5", "ears.open_s = 8.5"),
        ("open_s = true", "ears.open_s = True"),
    ],
)
def test_wrong_manners_are_named(tmp_path: Path, ears: str, told: str) -> None:
    with pytest.raises(Refusal) as refused:
        settings(tmp_path, ears)
    assert told in refused.value.line


def test_the_table_names_every_word() -> None:
    allowed = next(each.allowed for each in TABLE if each.key == "ears.attention")
    assert set(allowed.removeprefix("empty, or: ").split(", ")) == set(attention_words())


# --- In the plain lines -----------------------------------------------------------------------------------------


def test_plain_lines_tell_what_is_waited_for_when_it_changes(capsys: pytest.CaptureFixture[str]) -> None:
    screen = _PlainScreen()
    screen.tell(Listening(0.1, True, waits="Press T to talk."))  # while it speaks: later
    for waits, hint in (("Press T to talk.", ""), ("Press T to talk.", ""), ("", ""), ("", "Too quiet. Come closer.")):
        screen.tell(Listening(0.1, False, hint, waits))
    assert capsys.readouterr().err.splitlines() == ["pullcall: Press T to talk.", "pullcall: Too quiet. Come closer."]


def test_t_is_the_talk_key_and_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    screen = _PlainScreen()

    def tap(turn: int, sentence: str) -> None:
        done.append(sentence)
        desk.ended = True

    desk = SimpleNamespace(tap=tap, accepts=lambda ask, sentence: True, ended=False)
    work = SimpleNamespace(sitting=desk, talk=lambda: done.append("talk"), start=lambda: screen.tell(Rehearsal().panel))
    monkeypatch.setattr("sys.stdin", io.StringIO("T\njob one\n"))
    screen.show(work)  # type: ignore[arg-type]
    assert done == ["talk", "job one"]
