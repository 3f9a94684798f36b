"""What the second ear buys: the same sound heard by one ear and by two."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.hearing.manifest import Item
from assistant.hearing.outcome import Outcome
from assistant.hearing.sound import Condition, radio_talk, render
from assistant.hearing.trial import hear_sound
from assistant.ports import Ears


@dataclass(frozen=True)
class Twice:
    """One recording under one condition."""

    one: Outcome
    """By one ear."""
    two: Outcome
    """By two."""
    first_cpu_s: float
    """Processor time of one ear for all of the recording, end-pointing included."""
    second_s: tuple[float, float] | None
    """Of the second ear's answer the processor's seconds and the clock's, which the speaker waits longer; None where it
    was not asked.
    """


def listen_twice(
    one: Ears,
    two: Ears,
    took: list[tuple[float, float]],
    items: Sequence[Item],
    under: Sequence[Condition],
    tell: Callable[[int, int], None] = lambda done, whole: None,
) -> list[Twice]:
    """Every item under every condition, in one process, so that processor time is its own.

    `took`: what each answer of the second ear of `two` took comes to its end (engines.Unhurried).
    """
    talk = radio_talk(items)
    jobs = [(condition, item) for condition in under for item in items]
    found = dict[int, Twice]()
    for at in sorted(range(len(jobs)), key=lambda at: jobs[at][1].ask):  # the graph of an ask stays loaded
        condition, item = jobs[at]
        found[at] = _hear(one, two, took, item, condition, talk)
        tell(len(found), len(jobs))
    return [found[at] for at in range(len(jobs))]


def _hear(
    one: Ears, two: Ears, took: list[tuple[float, float]], item: Item, condition: Condition, talk: Sequence[Path]
) -> Twice:
    sound = render(item, condition, talk)
    begun, asked = time.process_time(), len(took)
    alone = hear_sound(one, item, condition, sound)
    first_cpu_s = time.process_time() - begun
    both = hear_sound(two, item, condition, sound)
    return Twice(alone, both, first_cpu_s, took[-1] if len(took) > asked else None)
