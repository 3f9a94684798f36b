"""What is told beside the talk: on the screen with its sign, by its tone, and aloud."""

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.core.length import System
from assistant.core.line import line
from assistant.core.tone import PLAIN, Tone
from assistant.cues import Cue
from assistant.exits import Exit, Refusal
from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job
from assistant.screen.news import Listening, News, Trouble
from assistant.settings import Settings
from assistant.speech.ears import VoskEars
from assistant.speech.voice import SilentVoice
from assistant.wording import Wording, word
from assistant.work import Wishes, Work


class Mouth:
    """A speaker that remembers the order of what it was given."""

    def __init__(self) -> None:
        self.given: list[Cue | str] = []

    def sound(self, cue: Cue) -> None:
        self.given.append(cue)

    def say(self, wording: Wording, tone: Tone) -> None:
        self.given.append(wording.say)


class Clock(SystemClock):
    """Its time is set."""

    seconds = 0.0

    def monotonic_ms(self) -> int:
        return round(self.seconds * 1000)


class Bench(Work):
    """A work of nothing but its tellings."""

    def __init__(self, folder: Path) -> None:
        self.news: list[News] = []
        self.clock = Clock()
        super().__init__(
            begin_job(folder / "hall.job", self.clock), self.clock, Settings(), Wishes(False, False), self.news.append
        )
        self.mouth = Mouth()
        self.speaker = self.mouth  # type: ignore[assignment]


class Plug:
    """A loudspeaker that is plugged in after the first sound."""

    def __init__(self, *, awaited: bool) -> None:
        self.awaited, self.played, self.tries = awaited, list[str](), 0

    def play(self, wav: Path, wanted: Callable[[], bool]) -> None:
        self.tries += 1
        if self.tries == 1:
            raise Refusal(Exit.NO_VOICE, "loudspeaker: none found; plug one in")
        self.played.append(wav.name)

    def close(self) -> None:
        self.played.append("closed")


def test_a_loudspeaker_that_is_missing_at_the_start_is_told_and_found_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.work.Loudspeaker", Plug)
    monkeypatch.setattr("assistant.speech.voice.EspeakVoice", lambda folder, rate: SilentVoice(folder))
    monkeypatch.setattr("assistant.speaker.LOOKS_S", (0.0,))
    news: list[News] = []
    clock = SystemClock()
    work = Work(
        begin_job(tmp_path / "hall.job", clock),
        clock,
        replace(Settings(), tones=False),
        Wishes(False, True),
        news.append,
    )
    work.start()
    until = time.monotonic() + 10
    while not any(isinstance(each, Trouble) for each in news) and time.monotonic() < until:
        time.sleep(0.01)
    work.speaker.say(word(line("ears_back"), System.IMPERIAL), PLAIN)
    while work.speaker.unsaid and time.monotonic() < until:
        time.sleep(0.01)
    work.end()
    assert [each for each in news if isinstance(each, Trouble)] == [Trouble("loudspeaker: none found; plug one in")]
    plug = work._sounder
    assert isinstance(plug, Plug) and plug.awaited
    assert len(plug.played) == 2 and plug.played[-1] == "closed"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path)
    yield made
    made.log.close()


@pytest.mark.parametrize(
    ("what", "given", "sign"),
    [
        ("missing", [Cue.WARNING, "No microphone. Tap or type meanwhile."], "! "),
        ("lost", [Cue.WARNING, "The microphone is gone. Tap instead."], "! "),
        ("back", [], ""),
        ("silent", [], ""),
        ("busy", [], ""),
    ],
)
def test_a_lost_microphone_warns_by_tone_sign_and_words(
    bench: Bench, what: str, given: list[Cue | str], sign: str
) -> None:
    """The tone of every other warning: a fifth one nobody would know."""
    bench._microphone_told(what, "microphone 'usb'")
    assert bench.mouth.given == given
    assert bench.news == [Trouble(f"{sign}microphone 'usb'")]


GONE: list[Cue | str] = [Cue.WARNING, "The microphone is gone. Tap instead."]
THERE: list[Cue | str] = ["The microphone is there."]


@pytest.mark.parametrize("gone", ["missing", "lost"])
def test_a_microphone_that_was_said_to_be_gone_is_said_to_be_there(bench: Bench, gone: str) -> None:
    bench._microphone_told(gone, "microphone 'usb'")
    bench.mouth.given.clear()
    bench._microphone_told("back", "microphone 'usb'")
    bench._microphone_told("back", "microphone 'usb'")
    assert bench.mouth.given == THERE


def test_a_loose_plug_does_not_fill_the_voice_and_the_screen_shows_each_turn(bench: Bench) -> None:
    for tenth in range(150):
        bench.clock.seconds = 100 + tenth / 10
        bench._microphone_told("back" if tenth % 2 else "lost", str(tenth))
    assert bench.mouth.given == (GONE + THERE) * 2
    assert [news for news in bench.news if isinstance(news, Trouble)] == [
        Trouble(f"{tenth}" if tenth % 2 else f"! {tenth}") for tenth in range(150)
    ]


def test_a_loss_that_came_too_soon_to_be_said_is_said_later_where_it_lasts(bench: Bench) -> None:
    """Else the last word would be that the microphone is there."""
    gone, there = (Listening(0.0, deaf=False, gone=each) for each in (True, False))
    for second, what in enumerate(("lost", "back", "lost")):
        bench.clock.seconds = 100.0 + second
        bench._microphone_told(what, "microphone 'usb'")
        bench._ears_told(gone)
    assert bench.mouth.given == GONE + THERE
    bench.clock.seconds = 110.0
    bench._ears_told(Trouble("something else"))
    assert bench.mouth.given == GONE + THERE
    bench._ears_told(gone)
    bench._ears_told(gone)
    assert bench.mouth.given == GONE + THERE + GONE
    assert bench.news[-1] == gone and bench.news.count(gone) == 5, "and the screen is told as ever"
    bench._microphone_told("back", "microphone 'usb'")
    bench._ears_told(there)
    bench.clock.seconds = 200.0
    bench._ears_told(gone)
    assert bench.mouth.given == (GONE + THERE) * 2, "a first block that is awaited is no loss"


def test_a_new_file_warns_likewise(bench: Bench) -> None:
    bench._carried_on(Path("hall-2.job"))
    assert bench.mouth.given == [Cue.WARNING, "The disk failed. The job goes on in a new file."]
    assert bench.news == [Trouble("! The disk failed. The job goes on in hall-2.job.")]


def test_a_second_ear_that_is_damaged_leaves_the_first(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def damaged(folder: Path) -> None:
        raise Refusal(Exit.BAD_MODEL, "second ear model.bin: has a wrong checksum; install it again")

    monkeypatch.setattr("assistant.speech.second_ear.weights_folder", lambda: tmp_path)
    monkeypatch.setattr("assistant.speech.second_ear.check", damaged)
    monkeypatch.setattr("assistant.speech.microphone.Microphone", lambda *args, awaited: None)
    ears = bench._open_ears()
    assert ears is not None
    assert ears.name == VoskEars().name
    assert bench.news == [Trouble("one ear alone: second ear model.bin: has a wrong checksum; install it again")]
