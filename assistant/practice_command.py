"""`pullcall practice`: a job against a simulated carpet, typed or spoken, so that a newcomer can learn it.

The trainer tells in brackets what the tape shows; the learner says it. Mistakes may be made; they are told at the end.
"""

import argparse
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from itertools import count
from pathlib import Path

from assistant.core import events as ev
from assistant.exits import Exit, Refusal
from assistant.practice.learner import Preset
from assistant.practice.options import MOST_SEED
from assistant.practice_job import Practice, open_job
from assistant.record.clock import SystemClock
from assistant.settings import Settings
from assistant.speech.text_ears import TextEars
from assistant.speech.voice import SilentVoice
from assistant.typed_size import read_sides
from assistant.workplace import Workplace

_HINT = "Enter alone takes one more bite; everything else is what you say. End of input keeps the job."


def run(options: argparse.Namespace, settings: Settings) -> Exit:
    """Practise until the job is closed or the input ends.

    Raises Refusal: BAD_SIZE for a room, BAD_SETTINGS for a seed, BAD_JOB for a folder whose job is no practice.
    """
    preset = Preset(*read_sides(*options.room))
    if not 0 <= options.seed <= MOST_SEED:
        raise Refusal(Exit.USAGE, f"--seed {options.seed}: must be from 0 to {MOST_SEED}")
    folder = options.out or next(each for each in _names() if not each.exists())
    if options.voice:
        from assistant.practice_voice import practise_aloud

        return practise_aloud(folder, options, settings, preset)
    started = ev.Started("", "none: typed", settings.read_order(), settings.head)
    place = Workplace(TextEars(), SilentVoice(folder), SystemClock(), started)
    with closing(open_job(folder, place)) as job:
        practice = Practice(job, replace(place, voice=_Mute()), options.seed, preset, _show)
        print(f"pullcall: practice, job in {job.path}. {_HINT}", file=sys.stderr, flush=True)
        practice.open()
        practice.talk(practice.right_answers() if options.auto else sys.stdin)
        return practice.close()


class _Mute:
    """A voice that leaves no file."""

    def speak(self, text: str, *, helper: bool = False, tone: object = None) -> Path:
        """Nothing is heard."""
        return Path()

    def close(self) -> None:
        """Nothing is behind it."""


def _show(text: str) -> None:
    print(text if text.startswith(" ") else f"\n{text}", flush=True)


def _names() -> Iterator[Path]:
    yield Path("pullcall-practice")
    yield from (Path(f"pullcall-practice-{number}") for number in count(2))
