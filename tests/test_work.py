"""What is told beside the talk: on the screen with its sign, by its tone, and aloud."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.core.tone import Tone
from assistant.cues import Cue
from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job
from assistant.screen.news import News, Trouble
from assistant.settings import Settings
from assistant.wording import Wording
from assistant.work import Wishes, Work


class Mouth:
    """A speaker that remembers the order of what it was given."""

    def __init__(self) -> None:
        self.given: list[Cue | str] = []

    def sound(self, cue: Cue) -> None:
        self.given.append(cue)

    def say(self, wording: Wording, tone: Tone) -> None:
        self.given.append(wording.say)


class Bench(Work):
    """A work of nothing but its tellings."""

    def __init__(self, folder: Path) -> None:
        self.news: list[News] = []
        clock = SystemClock()
        super().__init__(
            begin_job(folder / "hall.job", clock), clock, Settings(), Wishes(False, False), self.news.append
        )
        self.mouth = Mouth()
        self.speaker = self.mouth  # type: ignore[assignment]


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
        ("back", ["The microphone is there."], ""),
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


def test_a_new_file_warns_likewise(bench: Bench) -> None:
    bench._carried_on(Path("hall-2.job"))
    assert bench.mouth.given == [Cue.WARNING, "The disk failed. The job goes on in a new file."]
    assert bench.news == [Trouble("! The disk failed. The job goes on in hall-2.job.")]
