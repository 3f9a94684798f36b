"""What a session stands on when the disk fails: the alarm is shown and spoken, and no voice can hide it."""

from pathlib import Path

import pytest

from assistant.core.tone import PLAIN, Tone
from assistant.exits import Exit, Refusal
from assistant.record.job_file import begin_job
from assistant.record.reading import read_job
from assistant.speech.text_ears import TextEars
from assistant.workplace import Workplace
from tests.record import scenario
from tests.record.scenario import ScriptedClock
from tests.record.test_job_file import base_of

SAID = "The disk failed. The job goes on in a new file."


class Voice:
    """Notes what it is to say; or cannot."""

    def __init__(self, *, broken: bool = False) -> None:
        self.said: list[str] = []
        self._broken = broken

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        self.said.append(text)
        if self._broken:
            raise Refusal(Exit.NOT_WRITABLE, "voice folder: cannot be written")
        return Path()

    def close(self) -> None:
        """Nothing is behind it."""


def place(voice: Voice) -> Workplace:
    return Workplace(TextEars(), voice, ScriptedClock(), scenario.started())


@pytest.mark.parametrize("broken", [False, True])
def test_a_new_file_is_shown_and_spoken(tmp_path: Path, capsys: pytest.CaptureFixture[str], broken: bool) -> None:
    voice = Voice(broken=broken)
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    log = place(voice).log(job)
    log.append([("a", "{}")])
    base_of(job).execute("PRAGMA query_only = ON")
    assert log.append([("b", "{}")]) == 3
    log.close()
    shown = capsys.readouterr()
    assert f"The disk failed. The job goes on in {tmp_path / 'a-2.job'}." in shown.out
    assert voice.said == [SAID]
    assert ("voice folder: cannot be written" in shown.err) is broken
    assert len(read_job(tmp_path / "a-2.job").rows) == 3
