"""Everything a session stands on, opened and closed together: ears, voice, clock, and what was started."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from assistant import __version__
from assistant.core import events as ev
from assistant.core.length import System
from assistant.core.line import line
from assistant.core.tone import PLAIN, Tone
from assistant.exits import Refusal
from assistant.keeping import KeepingEars
from assistant.ports import Clock, Ears, Voice
from assistant.record.clock import SystemClock
from assistant.record.code import job_code
from assistant.record.job_file import JobFile
from assistant.record.job_log import JobLog
from assistant.record.review import review
from assistant.settings import Settings
from assistant.speech.ears import VoskEars
from assistant.speech.second_ear import second_ear
from assistant.speech.voice import EspeakVoice, SilentVoice
from assistant.wording import Wording, word

ALARMS = ("disk_full", "not_recording", "new_file", "broken_off")
"""What is said when the disk, or the program, fails."""


@dataclass(frozen=True)
class Workplace:
    """The adapters of one session."""

    ears: Ears
    voice: Voice
    clock: Clock
    started: ev.Started
    """Program, model, order and head of this session."""

    def answer(self, wording: Wording, tone: Tone = PLAIN) -> Path | None:
        """Print a line and speak it into a WAV; None for a line that is only shown."""
        print(f"        {'helper:  ' if wording.helper else 'pullcall: '}{wording.show}", flush=True)
        return self.voice.speak(wording.say, helper=wording.helper, tone=tone) if wording.say else None

    def log(self, job: JobFile) -> JobLog:
        """The job's log; when it has to begin a new file, that is said and shown."""
        return JobLog(job, self.clock, self._carried_on)

    def _carried_on(self, path: Path) -> None:
        try:
            self.answer(word(line("new_file", text=str(path)), System.IMPERIAL))
        except Refusal as refusal:  # the voice's folder lies on the same disk; it was shown all the same
            print(f"pullcall: {refusal.line}", file=sys.stderr)

    def close_job(self, job: JobFile | JobLog, *, finished: bool) -> None:
        """Give the job file back, tell its code, and write its report beside it."""
        code = job_code(job.history())
        job.close()
        if finished:
            self.answer(word(line("job_code", code=code), System.IMPERIAL))
        print(f"\n{review(job.path).text}")


@contextmanager
def open_workplace(
    folder: Path, settings: Settings, *, model: Path | None, quiet: bool, keep_audio: bool = False
) -> Iterator[Workplace]:
    """Open ears and voice, which keeps its WAVs in `folder`. Raises Refusal (BAD_MODEL, BAD_SETTINGS)."""
    ears = VoskEars(model, second=lambda: second_ear(settings.second_ear))
    cache = folder / "voice"
    voice: Voice = SilentVoice(cache) if quiet else EspeakVoice(cache, rate=settings.rate)
    started = settings.started(__version__, ears.name)
    try:
        yield Workplace(KeepingEars(ears) if keep_audio else ears, voice, SystemClock(), started)
    finally:
        voice.close()
