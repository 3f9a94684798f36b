"""A practice job between a learner and a simulated carpet; what the tape shows is told in brackets."""

import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from shlex import quote

from assistant import __version__
from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.tone import Tone
from assistant.exits import Exit, Refusal
from assistant.ports import Ears, Heard
from assistant.practice.learner import Preset, right_answer
from assistant.practice.trainer import Trainer
from assistant.record.codec import decode
from assistant.record.job_file import JobFile, begin_job, resume_job
from assistant.screen.choices import taps
from assistant.screen.entry import as_said
from assistant.speech.grammars import grammar
from assistant.speech.text_ears import TextEars
from assistant.speech.understand import understand
from assistant.wording import Wording
from assistant.workplace import Workplace

MOST_SENTENCES = 5000
"""Of a learner who does everything right; far more than any room takes."""
_MARK = re.compile(r"PRACTICE on simulated carpet (\d{1,10}), pullcall ")


class Practice:
    """One practice job between the learner and the trainer."""

    def __init__(self, job: JobFile, place: Workplace, seed: int, preset: Preset, show: Callable[[str], None]) -> None:
        """Marks the session as practice in the log, where nobody takes it for work. A resumed job keeps its carpet."""
        self._job, self._place, self._preset, self._show = job, place, preset, show
        earlier = practice_seed(job)
        self._trainer = Trainer(seed if earlier is None else earlier)
        program = f"{ev.PRACTICE} on simulated carpet {self._trainer.seed}, pullcall {__version__}"
        self._setting_up = False
        self.conversation = Conversation(job, self._answer, replace(place.started, program=program))
        self._text = TextEars()

    def open(self, *, aloud: bool = False) -> None:
        """Up to the first pull by the trainer's own answers, or to where the job was left; `aloud` speaks only then."""
        self._setting_up = aloud and bool(self._preset.sentence(self.conversation.state))
        self.conversation.open()
        while sentence := self._preset.sentence(self.conversation.state):
            before = self.conversation.ask
            self.say(sentence)
            if self.conversation.ask == before:
                break  # not as expected: the learner answers
        if self._setting_up:
            self._setting_up = False
            self.conversation.open()
        state = self.conversation.state
        self._tell(self._trainer.attend(state, state))

    def _answer(self, wording: Wording, tone: Tone) -> None:
        """The trainer's own answers are shown, not spoken: nobody waits a minute for the first pull."""
        self._place.answer(replace(wording, say="") if self._setting_up else wording, tone)

    def talk(self, sentences: Iterator[str]) -> None:
        """Each sentence at the question that stands; an empty one is a bite."""
        for sentence in sentences:
            if self.conversation.ask is None:
                return
            if sentence.strip():
                self.say(sentence)
            else:
                self._tell(self._trainer.bite())
            if self.conversation.ask is None:
                return

    def say(self, sentence: str) -> None:
        """One typed sentence, or a figure as on the tape."""
        ask = self.conversation.ask
        assert ask is not None
        pads = (each.on(self.conversation.state.system) for each in taps(ask.grammar).pads)
        heard_under = grammar(ask.grammar)
        said = as_said(sentence.replace("\n", " ").strip(), pads, lambda text: bool(understand(text, heard_under)))
        heard = self._text.listen(ask.grammar).feed(said.encode() + b"\n")
        self._show(f"you:    {said}")
        self.take(heard)

    def take(self, heard: Heard | None, by: str = "tap") -> None:
        """One utterance, and what the carpet makes of it."""
        before = self.conversation.state
        self.conversation.take(heard, by)
        self._tell(self._trainer.attend(before, self.conversation.state))

    def right_answers(self) -> Iterator[str]:
        """The sentences of a learner who does everything right."""
        for _ in range(MOST_SENTENCES):
            if self.conversation.ask is None:
                return
            yield right_answer(self.conversation.state, self._trainer.shown)

    @property
    def ears(self) -> Ears:
        """The learner's."""
        return self._place.ears

    def close(self) -> Exit:
        """Tell what was right and wrong; write the report of a closed job."""
        self._tell(self._trainer.verdict())
        if self.conversation.ask is not None:
            command = f"pullcall practice --out {quote(str(self._job.path.parent))}"
            print(f"pullcall: the job is kept; resume it with: {command}", file=sys.stderr)
            return Exit.DONE
        self._place.close_job(self._job, finished=True)
        return Exit.DONE

    def _tell(self, lines: list[str]) -> None:
        for each in lines:
            self._show(f"        {each}")


def open_job(folder: Path, place: Workplace) -> JobFile:
    """The practice job of `folder`, new or resumed; a real job is refused. Raises Refusal (BAD_JOB, NOT_WRITABLE)."""
    path = folder / "practice.job"
    if not path.exists() and any(folder.glob("*.job")):
        raise Refusal(Exit.BAD_JOB, f"{folder}: holds a job that is no practice; name another folder with --out")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = f"{folder}: cannot be made ({error.strerror}); name another with --out"
        raise Refusal(Exit.NOT_WRITABLE, why) from None
    if not path.exists():
        return begin_job(path, place.clock)
    job = resume_job(path, place.clock)
    if practice_seed(job) is None and next(iter(job.rows()), None) is not None:
        job.close()
        raise Refusal(Exit.BAD_JOB, f"{path}: is no practice but a real job; name another folder with --out")
    return job


def practice_seed(job: JobFile) -> int | None:
    """Number of the carpet a job was practised on; None for a job just begun or a real one."""
    kind, payload = next(iter(job.rows()), ("", ""))
    begun = decode(kind, payload) if kind else None
    found = _MARK.match(begun.program) if isinstance(begun, ev.Started) else None
    return int(found.group(1)) if found else None
