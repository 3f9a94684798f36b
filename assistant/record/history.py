"""What happened at each pull, moment by moment."""

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core import events as ev
from assistant.core.length import System
from assistant.record.chain import Row
from assistant.record.telling import tell
from assistant.record.walk import Step


@dataclass(frozen=True)
class Moment:
    """One thing that happened at a pull."""

    row: Row
    heard: str
    """What was said or tapped before it, word for word; '' = it follows from the moment before."""
    told: str


def histories(steps: Sequence[Step], system: System) -> dict[int, tuple[Moment, ...]]:
    """The moments of every pull at which something happened, by number, in the order of the log."""
    found: dict[int, tuple[Moment, ...]] = {}
    heard = ""
    for step in steps:
        if isinstance(step.event, ev.Said):
            heard = step.event.text
        elif isinstance(step.event, ev.Started | ev.PassBegun):
            heard = ""  # about the job, not about the pull that comes next
        elif step.pull is not None and (told := _told(step, system)):
            found[step.pull] = (*found.get(step.pull, ()), Moment(step.row, heard, told))
            heard = ""
    return found


def _told(step: Step, system: System) -> str:
    what = "" if step.undone is None else f": {tell(step.undone, system)}"
    return f"{tell(step.event, system)}{what}"
