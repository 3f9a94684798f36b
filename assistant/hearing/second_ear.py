"""What the second ear buys: the same utterances judged by one ear and by two."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.hearing.manifest import NONE, Item, told
from assistant.hearing.outcome import Outcome
from assistant.hearing.sound import Condition, radio_talk, render
from assistant.hearing.trial import play
from assistant.keeping import KeepingEars
from assistant.ports import Ears, Heard
from assistant.speech.second_ear import Opinion
from assistant.speech.second_ear_rule import Judged, Second, judge


@dataclass(frozen=True)
class Twice:
    """One recording under one condition."""

    one: Outcome
    """By the first ear's own rule."""
    two: Outcome
    """By the rule of two ears."""
    asked: bool
    """Was the second ear asked?"""
    first_cpu_s: float
    """Processor time of the first ear for all of the recording, end-pointing included."""
    second_cpu_s: float
    """Processor time of the second, 0 where it was not asked."""
    second_wall_s: float
    """By the wall clock: what the speaker waits longer."""


def listen_twice(
    first: Ears,
    second: Second,
    items: Sequence[Item],
    under: Sequence[Condition],
    tell: Callable[[int, int], None] = lambda done, whole: None,
) -> list[Twice]:
    """Every item under every condition, in one process, so that processor time is its own. The second is never late."""
    ears, talk = KeepingEars(first), radio_talk(items)
    jobs = [(condition, item) for condition in under for item in items]
    found = dict[int, Twice]()
    for at in sorted(range(len(jobs)), key=lambda at: jobs[at][1].ask):  # the graph of an ask stays loaded
        condition, item = jobs[at]
        found[at] = _hear(ears, second, item, condition, talk)
        tell(len(found), len(jobs))
    return [found[at] for at in range(len(jobs))]


def _hear(ears: KeepingEars, second: Second, item: Item, condition: Condition, talk: Sequence[Path]) -> Twice:
    sound = render(item, condition, talk)
    begun = time.process_time()
    heard, late_s = play(sound, ears.listen(item.ask))
    first_cpu_s = time.process_time() - begun
    if heard is None:
        nothing = Outcome(item, str(condition), "", NONE, 0.0, None)
        return Twice(nothing, nothing, False, first_cpu_s, 0.0, 0.0)
    judged, cpu_s, wall_s = _judged(heard, item.ask, second)
    one = _outcome(heard, item, condition, late_s)
    return Twice(
        one, _outcome(judged.heard, item, condition, late_s + wall_s), judged.asked, first_cpu_s, cpu_s, wall_s
    )


def _judged(heard: Heard, ask: str, second: Second) -> tuple[Judged, float, float]:
    cpu_s = wall_s = 0.0

    def asked() -> Opinion:
        nonlocal cpu_s, wall_s
        cpu, wall = time.process_time(), time.perf_counter()
        opinion = second.hear(heard.sound, ask, float("inf"))
        cpu_s, wall_s = time.process_time() - cpu, time.perf_counter() - wall
        return opinion

    judged = judge(heard, ask, asked)
    return judged, cpu_s, wall_s


def _outcome(heard: Heard, item: Item, condition: Condition, late_s: float) -> Outcome:
    return Outcome(item, str(condition), heard.text, told(heard.meaning), heard.score, late_s)
