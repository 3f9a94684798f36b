"""How the time of a job was spent: set-up, passes, pauses, stops."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from assistant.core import events as ev
from assistant.core.log_events import ClockJumped
from assistant.record.clock import moment
from assistant.record.walk import Step


@dataclass(frozen=True)
class Stretch:
    """A stretch of the job."""

    what: str
    """'set-up', 'pass 1', 'pause', 'stopped' or 'close'."""
    begin: str
    """Wall time as recorded."""
    end: str
    seconds: float | None
    """Measured: monotonic time; between two sessions wall time, None where that cannot be read or ran back."""


def timeline(steps: Sequence[Step]) -> tuple[Stretch, ...]:
    """The job's stretches in order."""
    # The note of a jump stands in front of what came after it, and a session that begins is no end of work.
    told = [each for each in steps if not isinstance(each.event, ClockJumped)]
    gaps = [(_what(after), before, after) for before, after in pairwise(told)]
    found = []
    for what, group in groupby(gaps, key=lambda each: each[0]):
        parts = [(before, after) for _, before, after in group]
        seconds = [_seconds(before, after) for before, after in parts]
        known = [each for each in seconds if each is not None]
        total = round(sum(known), 3) if len(known) == len(seconds) else None
        found.append(Stretch(what, parts[0][0].row.wall, parts[-1][1].row.wall, total))
    return tuple(found)


def _what(step: Step) -> str:
    """What was going on until this step."""
    if isinstance(step.event, ev.Started):
        return "stopped"
    if step.before.paused:
        return "pause"
    here = step.before.present_pass
    if step.before.plan is None:
        return "set-up"
    return f"pass {here.number}" if here is not None else "close"


def _seconds(before: Step, after: Step) -> float | None:
    same_session = not isinstance(after.event, ev.Started) and after.row.monotonic_ms >= before.row.monotonic_ms
    if same_session:
        return (after.row.monotonic_ms - before.row.monotonic_ms) / 1000
    start, end = moment(before.row.wall), moment(after.row.wall)
    return (end - start).total_seconds() if start is not None and end is not None and start <= end else None
