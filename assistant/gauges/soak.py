"""A working day of sound through the ears, faster than real time, with a whole job going on: does anything grow?

python -m assistant.gauges.soak --hours 8
python -m assistant.gauges.soak --hours 10 --noise-only

Ears, hearer, sitting, conversation and job file are the program's own; the microphone is an iterator of blocks, the
voice is silent, and the clock passes with the sound. What is watched is this process, the sound's making included.
"""

import argparse
import gc
import json
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import numpy as np

from assistant.core import events as ev
from assistant.exits import Exit, Refusal
from assistant.gauges.processes import holding, told
from assistant.gauges.soundtrack import BEHIND_SPEECH_DB, Backdrop, Samples, Script, as_blocks, spoken
from assistant.hearer import Hearer
from assistant.orders import read_order
from assistant.ports import RATE, Heard
from assistant.record.job_file import begin_job
from assistant.record.job_log import JobLog
from assistant.record.verify import verify
from assistant.screen.news import News, Trouble
from assistant.screen.panel import Panel
from assistant.sitting import Sitting
from assistant.speaker import Speaker
from assistant.speech.ears import VoskEars
from assistant.speech.endpoint import WINDOW

SETUP = (
    *("job one", "tufted", "no figure", "the same", "skip the rest", "sixty feet", "yes", "forty feet", "yes"),
    *("it is square", "no openings", "door left", "door to far", "ready"),
)
"""Tapped: a hall with more pulls than are made in a day of sound."""
GAP_S = (4.0, 26.0)
"""Noise between two sentences."""
OTHER_SHARE = 0.25
"""Of the gaps, somebody talks in it who does not mean the assistant."""
ANSWER_S = 10.0
"""So much sound after a sentence, and it has had no answer: more than the longest utterance."""
TAIL_S = 1.5
"""More than the silence that ends a sentence that is no whole one: nothing of it is left over for the next."""
PIECE_S = 0.5
PATIENCE_S = 30.0
"""Seconds on the wall for a durable answer on a busy machine."""
MOST_KB_AN_HOUR = 1_000
"""Flat: our choice. The rows of the job are kept in memory (so that a disk that fails takes none), about 1 KB each."""
MOMENTS = 48
"""Looks at what is held, over the whole run."""
_BEGIN = datetime(2026, 3, 2, 8, tzinfo=UTC)


class SoundClock:
    """Passes with the sound that was fed. Implements ports.Clock."""

    def __init__(self) -> None:
        self.passed_s = 0.0

    def wall(self) -> str:
        """As the port asks."""
        return (_BEGIN + timedelta(seconds=self.passed_s)).isoformat(timespec="milliseconds")

    def monotonic_ms(self) -> int:
        """As the port asks."""
        return round(self.passed_s * 1000)


@dataclass(frozen=True)
class Moment:
    """What was held after so much sound."""

    hours: float
    kb: int
    handles: int
    threads: int
    rows: int
    """Of the job so far."""


@dataclass
class Soak:
    """What came of it."""

    moments: list[Moment] = field(default_factory=list)
    spoken: int = 0
    """Sentences said to the assistant."""
    unanswered: list[str] = field(default_factory=list)
    """Those that got no answer."""
    others: int = 0
    """Other people's sentences."""
    others_answered: int = 0
    """Those that were answered: taken, or told not to have been understood."""
    noises_answered: int = 0
    """Answers while nobody spoke."""
    troubles: list[str] = field(default_factory=list)
    worked_s: float = 0.0
    """Processor time."""
    consistent: bool = False
    """The job file verifies at the end."""

    @property
    def settled(self) -> list[Moment]:
        """All but the first third, in which what is read once is read."""
        return self.moments[len(self.moments) // 3 :]

    @property
    def kb_an_hour(self) -> float:
        """Growth of resident memory: the slope of a line through the settled moments."""
        if len(self.settled) < 2:
            return float("nan")
        return float(np.polyfit([each.hours for each in self.settled], [each.kb for each in self.settled], 1)[0])

    def grown(self, what: str) -> int:
        """By how much more handles or threads there are in the last third than in the second."""
        counts = [int(getattr(each, what)) for each in self.settled]
        half = len(counts) // 2
        return max(counts[half:], default=0) - max(counts[:half], default=0)

    @property
    def short(self) -> list[str]:
        """What is not as it should be: nothing grows, everybody is answered, the job file verifies."""
        found = {
            "memory grows": not self.kb_an_hour <= MOST_KB_AN_HOUR,
            "open files grow": self.grown("handles") > 0,
            "threads grow": self.grown("threads") > 0,
            f"{len(self.unanswered)} of {self.spoken} sentences not answered": bool(self.unanswered),
            "the job file does not verify": not self.consistent,
        }
        return [told for told, true in found.items() if true]

    def __str__(self) -> str:
        last = self.moments[-1]
        rows = [
            f"{each.hours:6.2f} h {each.kb / 1024:7.1f} MB {each.handles:4} files {each.threads:3} threads "
            f"{each.rows:6} rows"
            for each in self.moments[:: max(1, len(self.moments) // 16)]
        ]
        missed = f"; no answer: {', '.join(self.unanswered)}" if self.unanswered else ""
        return "\n".join(
            [
                *rows,
                f"{last.hours:.2f} h of sound in {self.worked_s:.0f} s of processor time",
                f"{self.spoken} sentences, {self.spoken - len(self.unanswered)} answered{missed}",
                f"{self.others} sentences of other people, {self.others_answered} answered; "
                f"{self.noises_answered} answers to noise alone; troubles told: {len(self.troubles)}",
                f"memory {self.kb_an_hour:+.0f} KB an hour (flat: at most {MOST_KB_AN_HOUR}), open files "
                f"{self.grown('handles'):+d}, threads {self.grown('threads'):+d}, "
                f"job file {'verifies' if self.consistent else 'DOES NOT VERIFY'}",
                f"SHORT: {', '.join(self.short)}" if self.short else "pass",
            ]
        )


class _Counted(Sitting):
    """Knows how often something with words was heard."""

    heard = 0

    def hear(self, turn: int, heard: Heard) -> None:
        """Besides: counted."""
        self.heard += bool(heard.text)
        super().hear(turn, heard)


class Day:
    """The sound of a day, and what is said in it."""

    def __init__(self, hours: float, *, noise_only: bool, seed: int) -> None:
        """Nothing runs yet."""
        dice = Random(f"soak {seed}")
        self._hours, self._noise_only, self._dice = hours, noise_only, dice
        self._backdrop, self._script = Backdrop(dice), Script(dice)
        self._news = threading.Condition()
        self._answers = 0
        self._next_look = 0.0
        self._failed = ""
        self.clock = SoundClock()
        self.soak = Soak()

    def run(self, folder: Path) -> Soak:
        """Through the day, job after job."""
        ears, worked, number = VoskEars(), time.process_time(), 0
        while self._goes_on:
            number += 1
            self._work(folder / f"{number}.job", ears)
        self.soak.worked_s = time.process_time() - worked
        return self.soak

    @property
    def _goes_on(self) -> bool:
        return self.clock.passed_s < self._hours * 3600

    def _work(self, path: Path, ears: VoskEars) -> None:
        log = JobLog(begin_job(path, self.clock), self.clock, print)
        speaker = Speaker(None, None, self.soak.troubles.append)
        started = ev.Started("soak", ears.name, read_order())
        self._answers = 0
        self._sitting = _Counted(log, lambda: started, speaker, self._told)
        self._rows = log.rows
        self._sitting.start()
        self._set_up()
        over = threading.Event()
        hearer = Hearer(self._until_over(over), ears, self._sitting, speaker, self._told_of_hearing)
        hearer.start()
        while not self._failed and not over.wait(1.0):
            if all(each.name != "hearer" for each in threading.enumerate()):
                self._failed = "the ears ended before the sound did"
        hearer.stop()
        if self._failed:
            raise Refusal(Exit.FINDINGS, f"soak: {self._failed}")
        self._sitting.end()
        speaker.finish(1.0)
        log.close()
        self.soak.consistent = verify(path).consistent

    def _told(self, news: News) -> None:
        with self._news:
            if isinstance(news, Panel):
                self._answers += 1
            elif isinstance(news, Trouble):
                self.soak.troubles.append(news.line)
                self._answers += 1
            self._news.notify_all()

    def _told_of_hearing(self, news: News) -> None:
        if isinstance(news, Trouble):
            self.soak.troubles.append(news.line)

    def _wait(self, answers: int) -> None:
        """Until so many answers came."""
        with self._news:
            if not self._news.wait_for(lambda: self._answers >= answers, PATIENCE_S):
                raise Refusal(Exit.FINDINGS, f"soak: no answer within {PATIENCE_S:g} s; is the machine busy?")

    def _set_up(self) -> None:
        for count, sentence in enumerate(SETUP, 1):
            self._wait(count)  # the first is the first question
            question = self._sitting.open_question
            assert question is not None
            self._sitting.tap(question[0], sentence)
        self._wait(len(SETUP) + 1)
        self._answers = 0

    def _until_over(self, over: threading.Event) -> Iterator[bytes]:
        """The blocks; what goes wrong in making them is kept for the thread that waits, and ends them."""
        try:
            yield from self._blocks()
        except Exception as error:
            self._failed = str(error) or type(error).__name__
        finally:
            over.set()

    def _blocks(self) -> Iterator[bytes]:
        """What the microphone hears; everything yielded has been heard when the next is asked for."""
        while self._goes_on and not self._sitting.ended:
            yield from self._gap()
            if self._noise_only:
                continue
            if self._dice.random() < OTHER_SHARE:
                yield from self._other()
            yield from self._sentence()
        self._look()

    def _gap(self) -> Iterator[bytes]:
        self._backdrop.change()
        before = self._answers
        yield from self._fed(self._backdrop.cut(round(self._dice.uniform(*GAP_S) * RATE)))
        self.soak.noises_answered += self._answers - before

    def _other(self) -> Iterator[bytes]:
        self.soak.others += 1
        before = self._answers
        yield from self._over(spoken(self._script.other()))
        yield from self._until_answered(before)
        self.soak.others_answered += self._answers > before

    def _sentence(self) -> Iterator[bytes]:
        # What is half said of the noise is ended before somebody speaks.
        yield from self._fed(self._backdrop.cut(RATE))
        question = self._sitting.open_question
        if question is None:
            return
        recording, before = self._script.answer(question[1]), self._answers
        self._backdrop.change(self._dice.uniform(-70.0, BEHIND_SPEECH_DB))
        yield from self._over(spoken(recording))
        yield from self._until_answered(before)
        self.soak.spoken += 1
        if self._answers == before:
            self.soak.unanswered.append(f"{recording.file.name} '{recording.text}'")

    def _until_answered(self, before: int) -> Iterator[bytes]:
        yield from self._fed(self._backdrop.cut(round(TAIL_S * RATE)))
        for _ in range(round((ANSWER_S - TAIL_S) / PIECE_S)):
            if self._answers > before:
                return
            yield from self._fed(self._backdrop.cut(round(PIECE_S * RATE)))

    def _over(self, speech: Samples) -> Iterator[bytes]:
        yield from self._fed(speech + self._backdrop.cut(len(speech)))

    def _fed(self, sound: Samples) -> Iterator[bytes]:
        for block in as_blocks(sound, WINDOW):
            self.clock.passed_s += WINDOW / RATE
            yield block
        self._wait(self._sitting.heard)
        if self.clock.passed_s >= self._next_look:
            self._look()

    def _look(self) -> None:
        self._next_look = self.clock.passed_s + self._hours * 3600 / MOMENTS
        gc.collect()
        held = holding()
        rows = sum(1 for _ in self._rows())
        hours = self.clock.passed_s / 3600
        self.soak.moments.append(Moment(hours, held.resident_kb, held.handles, held.threads, rows))
        print(f"pullcall: {hours:.2f} of {self._hours:g} h", file=sys.stderr, flush=True)


def soak(hours: float, *, noise_only: bool = False, seed: int = 1) -> Soak:
    """Run it in a folder of its own. Raises Refusal (USAGE) where the system tells of no memory."""
    if not told():
        raise Refusal(Exit.USAGE, "soak: this system has no /proc to read memory from; run it on Linux")
    with tempfile.TemporaryDirectory(prefix="pullcall-soak") as folder:
        return Day(hours, noise_only=noise_only, seed=seed).run(Path(folder))


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m assistant.gauges.soak", description=__doc__.split("\n")[0])
    parser.add_argument("--hours", type=float, default=8.0, help="of sound (default: 8)")
    parser.add_argument("--noise-only", action="store_true", help="nobody speaks")
    parser.add_argument("--seed", type=int, default=1, help="another number is another day")
    parser.add_argument("--json", action="store_true", help="print JSON")
    given = parser.parse_args()
    try:
        found = soak(given.hours, noise_only=given.noise_only, seed=given.seed)
    except Refusal as refusal:
        print(f"pullcall: {refusal.line}", file=sys.stderr)
        return int(refusal.code)
    print(json.dumps(asdict(found), indent=1) if given.json else found)
    return int(Exit.FINDINGS if found.short else Exit.DONE)


if __name__ == "__main__":
    sys.exit(main())
