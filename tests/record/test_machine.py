"""R11: a session in any order of turns, time-outs, crashes and restarts stands on the fold of its events."""

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from random import Random

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.asks import next_ask
from assistant.core.fold import fold
from assistant.core.state import State
from assistant.ports import Heard
from assistant.record.codec import decode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.reading import read_job
from assistant.speech.grammars import grammar
from assistant.speech.sampler import sample
from assistant.speech.understand import understand
from tests.conftest import SETUP
from tests.record import scenario
from tests.record.scenario import ScriptedClock

Row = tuple[str, str]
dice = st.integers(0, 10**6)


class Spy:
    """A store that notes what was asked of the one behind it: the model's own list of events."""

    def __init__(self, log: JobLog, model: list[Row]) -> None:
        self.log, self.model = log, model

    def append(self, rows: list[Row]) -> int:
        self.log.append(rows)
        self.model += rows
        return len(self.model)

    def rows(self) -> object:
        return self.log.rows()

    def close(self) -> None:
        self.log.close()


class Session(RuleBasedStateMachine):
    """One job; the model is the list of events, folded."""

    steps = 0

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "a.job"
        self.clock = ScriptedClock()
        self.model: list[Row] = []
        self.expected = State()
        self.told = 0
        self.open(begin_job(self.path, self.clock))

    def open(self, job: object) -> None:
        self.store = Spy(JobLog(job, self.clock, print), self.model)  # type: ignore[arg-type]
        self.conversation = Conversation(self.store, lambda wording, tone: None, scenario.started())  # type: ignore[arg-type]

    def take(self, text: str, by: str) -> None:
        ask = self.conversation.ask
        if ask is not None:
            self.conversation.take(Heard(text, understand(text, grammar(ask.grammar)), 0.9, 0.0, 1.0), by)

    @initialize(begun=st.booleans())
    def set_up(self, begun: bool) -> None:
        for text in SETUP if begun else ():
            self.take(text, "voice")

    @rule(seed=dice, by=st.sampled_from(["voice", "tap"]))
    def say_or_tap(self, seed: int, by: str) -> None:
        """A sentence of the present ask's grammar."""
        ask = self.conversation.ask
        if ask is not None:
            self.take(sample(grammar(ask.grammar), Random(seed)), by)

    @rule(which=st.sampled_from(["yes", "one and a half", "hooked", "skip doorway", "ready", "resume", "[unk]"]))
    def say_what_leads_on(self, which: str) -> None:
        self.take(which, "voice")

    @rule()
    def nobody_speaks(self) -> None:
        self.conversation.take(None)

    @rule()
    def undo(self) -> None:
        self.take("scratch that", "voice")

    @rule(seconds=st.integers(0, 4_000))
    def time_passes(self, seconds: int) -> None:
        self.clock.pass_by(seconds)

    @rule()
    def restart(self) -> None:
        """Ended and resumed, as after a lost microphone, too."""
        self.store.close()
        self.open(resume_job(self.path, self.clock))

    @rule(part=st.booleans())
    def crash(self, part: bool) -> None:
        """The files as they stand, in mid-append or between two; nobody closes anything."""
        if part:
            base = self.store.log._job._base
            base.execute("PRAGMA cache_spill = 1")
            base.execute("BEGIN IMMEDIATE")
            values = (len(list(self.store.rows())) + 1, "", 0, "never", "x" * 9_000, "")  # type: ignore[call-overload]
            base.execute("INSERT INTO rows VALUES (?, ?, ?, ?, ?, ?)", values)
        after = Path(tempfile.mkdtemp(dir=self.folder)) / "a.job"
        for end in ("", "-journal"):
            if Path(f"{self.path}{end}").exists():
                shutil.copyfile(f"{self.path}{end}", f"{after}{end}")
        self.store.log._job._base.close()
        self.path = after
        self.open(resume_job(self.path, self.clock))

    @invariant()
    def state_is_the_fold_of_the_events(self) -> None:
        Session.steps += 1
        new = self.model[self.told :]
        self.expected, self.told = fold((decode(*each) for each in new), self.expected), len(self.model)
        assert self.conversation.state == self.expected
        assert self.conversation.ask == next_ask(self.expected)
        kept = [each for each in self.store.log.rows() if each[0] != "clock_jumped"]
        assert kept == self.model

    def teardown(self) -> None:
        self.store.close()
        reading = read_job(self.path)
        assert not reading.damage
        rows = [(each.kind, each.payload) for each in reading.rows]
        assert [each for each in rows if each[0] != "clock_jumped"] == self.model
        assert fold(decode(*each) for each in rows) == fold(decode(*each) for each in self.model)
        assert not any(isinstance(decode(*each), ev.Unknown) for each in rows)
        shutil.rmtree(self.folder)


def test_r11_the_state_is_the_fold_whatever_happens(nightly: bool, tell: Callable[[str], None]) -> None:
    Session.steps = 0
    examples, steps = (120, 100) if nightly else (12, 40)
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        Session, settings=settings(max_examples=examples, stateful_step_count=steps, deadline=None, derandomize=True)
    )
    assert Session.steps >= (10_000 if nightly else 200)
    tell(f"R11: {Session.steps} steps, no divergence")
