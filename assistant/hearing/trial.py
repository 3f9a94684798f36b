"""Recordings fed to ears, block after block as from a microphone; over all cores."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.exits import Exit, Refusal
from assistant.hearing.engines import open_engine
from assistant.hearing.manifest import NONE, Item, told
from assistant.hearing.outcome import Outcome
from assistant.hearing.pool import spread
from assistant.hearing.sound import Condition, Sound, radio_talk, render
from assistant.ports import RATE, Ears, Heard, Listener

BLOCK = 1024
"""Bytes: 32 ms."""
_TASK = 24
"""Recordings in one task: few enough to share out evenly, enough to keep an ask's graph in use."""


@dataclass(frozen=True)
class Engine:
    """Which ears are to be opened in every process."""

    name: str
    model: Path | None = None
    whole: bool = False
    """Without end-pointing."""

    @property
    def label(self) -> str:
        """For tables."""
        parts = (self.name, self.model.name if self.model else "", "without end-pointing" if self.whole else "")
        return " ".join(each for each in parts if each)


@dataclass(frozen=True)
class _Refused:
    """A Refusal on its way out of another process, where exceptions of two parts do not travel."""

    code: Exit
    line: str


Job = tuple[int, Item, Condition]


def run(
    engine: Engine, items: Sequence[Item], under: Sequence[Condition], tell: Callable[[int, int], None], cores: int = 0
) -> list[Outcome]:
    """Every item under every condition, in that order; `tell` hears (done, all) now and then.

    Raises Refusal as `open_engine` and `render` do. `cores` 0 = all.
    """
    open_engine(engine.name, engine.model, whole=engine.whole)  # here first: what it refuses is told in one line
    jobs = [(at, item, each) for at, (each, item) in enumerate((each, item) for each in under for item in items)]
    ordered = sorted(jobs, key=lambda job: (job[1].ask, job[0]))
    tasks = [ordered[at : at + _TASK] for at in range(0, len(ordered), _TASK)]
    found = list[tuple[int, Outcome]]()
    for part in spread(_work, tasks, _begin, (engine, radio_talk(items)), cores):
        if isinstance(part, _Refused):
            raise Refusal(part.code, part.line)
        found += part
        tell(len(found), len(jobs))
    return [outcome for _, outcome in sorted(found, key=lambda each: each[0])]


_here: dict[str, Any] = {}
"""What a process works with, set once by _begin."""


def _begin(engine: Engine, talk: list[Path]) -> None:
    _here.update(ears=open_engine(engine.name, engine.model, whole=engine.whole), talk=talk)


def _work(jobs: list[Job]) -> "list[tuple[int, Outcome]] | _Refused":
    try:
        return [(at, hear(_here["ears"], item, condition, _here["talk"])) for at, item, condition in jobs]
    except Refusal as refusal:
        return _Refused(refusal.code, refusal.line)


def hear(ears: Ears, item: Item, condition: Condition, talk: Sequence[Path] = ()) -> Outcome:
    """One recording under one condition; the first utterance counts, what comes after it is another."""
    return hear_sound(ears, item, condition, render(item, condition, talk))


def hear_sound(ears: Ears, item: Item, condition: Condition, sound: Sound) -> Outcome:
    """The same of what was rendered already."""
    listener = ears.listen(item.ask)
    heard, late_s = play(sound, listener)
    if heard is None:
        return Outcome(item, str(condition), "", NONE, 0.0, None)
    traits = getattr(listener, "traits", {})
    offered = told(heard.maybe[0].meaning) if heard.maybe and heard.meaning is None else NONE
    return Outcome(item, str(condition), heard.text, told(heard.meaning), heard.score, late_s, traits, offered)


def play(sound: Sound, listener: Listener) -> tuple[Heard | None, float]:
    """The first utterance and how long after the true end of speech it was there: wait in sound, work in wall time."""
    heard, fed, begun = None, 0, time.perf_counter()
    while heard is None and fed < len(sound.samples):
        begun = time.perf_counter()
        heard = listener.feed(sound.samples[fed : fed + BLOCK])
        fed += BLOCK
    if heard is None:
        begun = time.perf_counter()
        heard = listener.finish()
    return heard, fed / 2 / RATE - sound.end_s + time.perf_counter() - begun
