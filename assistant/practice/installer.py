"""A simulated installer who does exactly what the assistant says, and knows no more than the tape shows."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from assistant.core import events as ev
from assistant.core.asks import next_ask
from assistant.core.fold import fold
from assistant.core.length import Length, System
from assistant.core.meaning import Meaning, Quantity
from assistant.core.session import respond
from assistant.core.state import State
from assistant.practice.sheet import Sheet

MOST_TURNS = 4000
"""So many utterances end any job; a session that asks on for ever is a fault."""
MOST_STROKES = 40
"""At one pull: then it is hooked as it is."""
MOST_REPEATS = 3
"""Of one pull: nobody kneels there for ever."""


@dataclass
class Job:
    """One job talked through without sound."""

    state: State
    said: list[str] = field(default_factory=list)
    """Messages answered, by key."""

    def say(self, meaning: Meaning) -> tuple[str, ...]:
        """One utterance; the keys of the answer."""
        turn = respond(self.state, meaning)
        self.state = fold(turn.events, self.state)
        keys = tuple(each.key for each in turn.lines)
        self.said += keys
        return keys


def length(act: str, value: Length, system: System) -> Meaning:
    """A spoken length on the room's tape."""
    imperial = system is System.IMPERIAL
    return Meaning(act, (Quantity(value.inches if imperial else value.mm, "in" if imperial else "mm"),))


class Installer:
    """Kneels at one pull after the other."""

    def __init__(self, job: Job, sheet: Sheet) -> None:
        self._job, self._sheet = job, sheet
        self.repeats: Counter[int] = Counter()
        """How often each pull was to be made again."""

    def work(self) -> State:
        """Until the walk round; the state then."""
        for _ in range(MOST_TURNS):
            ask = next_ask(self._job.state)
            if ask is None or ask.grammar == "close":
                return self._job.state
            self._answer(ask.grammar)
        raise AssertionError(f"no end after {MOST_TURNS} turns, at {next_ask(self._job.state)}")

    def _answer(self, asked: str) -> None:
        match asked:
            case "ready":
                self._job.say(Meaning("ready"))
            case "confirm":
                self._confirm()
            case "hold":
                self._job.say(self._reading("hold"))
            case _:
                self._pull()

    def _confirm(self) -> None:
        """Yes to whatever is asked, but a pull is not repeated for ever."""
        proposed = self._job.state.proposed
        if isinstance(proposed, ev.PullReopened):
            self.repeats[proposed.number] += 1
        tired = isinstance(proposed, ev.PullReopened) and self.repeats[proposed.number] > MOST_REPEATS
        self._job.say(Meaning("no" if tired else "yes"))

    def _pull(self) -> None:
        """Bite, read, and do as told, until hooked."""
        number = self._number
        answer: Sequence[str] = ("another",)
        strokes = 0
        while not hook_now(answer):
            strokes += 1
            if strokes > MOST_STROKES:
                break
            if eased(answer):
                self._sheet.ease(number)
            elif self._sheet.bite(number):
                self._job.say(Meaning("slipped"))
                answer = ("another",)
                continue
            answer = self._job.say(self._reading("reading"))
            if self._job.state.proposed is not None:
                answer = self._job.say(Meaning("yes"))
        self._sheet.hook(number)
        self._job.say(Meaning("hooked"))
        if self._job.state.proposed is not None:
            self._job.say(Meaning("yes"))

    def _reading(self, act: str) -> Meaning:
        return length(act, self._sheet.tape(self._number), self._job.state.tape)

    @property
    def _number(self) -> int:
        pull = self._job.state.pull
        assert pull is not None
        return pull.number


def hook_now(answer: Sequence[str]) -> bool:
    """Does the answer say 'hook it'?"""
    return any(each in ("in_band", "over_holds", "over_nearest", "no_verdict") for each in answer)


def eased(answer: Sequence[str]) -> bool:
    """Does the answer say 'ease off'?"""
    return "over" in answer


def begun(events: Sequence[ev.Event]) -> Job:
    """A job after its setting up."""
    return Job(fold(events))
