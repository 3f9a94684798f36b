"""The clock of the machine, and wall-clock jumps found afterwards."""

import time
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from assistant.core.log_events import ClockJumped
from assistant.record.chain import Row
from assistant.record.codec import kind_of

NOTE = kind_of(ClockJumped)
"""Stands in front of the row after a jump, or of the session: as little a moment of the job as the jump itself."""
TOLERANCE_S = 2.0
"""Wall and monotonic time may part by so much between two rows of a session before it is called a jump."""


class SystemClock:
    """Implements ports.Clock."""

    def wall(self) -> str:
        """Local date and time with offset, ISO 8601 to the millisecond."""
        return datetime.now().astimezone().isoformat(timespec="milliseconds")

    def monotonic_ms(self) -> int:
        """Milliseconds since an arbitrary moment."""
        return time.monotonic_ns() // 1_000_000


@dataclass(frozen=True)
class ClockJump:
    """The wall clock was set, or the machine slept, between two rows."""

    seq: int
    """The row after the jump, or the one whose time cannot be read."""
    seconds: float
    """By how much wall time outran monotonic time; negative = set back, 0 = the row's wall time cannot be read."""


def moment(wall: str) -> datetime | None:
    """A row's wall time; None where it cannot be read as a time with offset."""
    try:
        found = datetime.fromisoformat(wall)
    except ValueError:
        return None
    return found if found.tzinfo is not None else None


def clock_jumps(rows: Iterable[Row]) -> tuple[ClockJump, ...]:
    """Jumps within a session, and steps back from one session to the next; order is by row number all the same."""
    told = (row for row in rows if row.kind != NOTE)
    return tuple(jump for before, after in pairwise(told) if (jump := _jump(before, after)) is not None)


def _jump(before: Row, after: Row) -> ClockJump | None:
    start, end = moment(before.wall), moment(after.wall)
    if end is None:
        return ClockJump(after.seq, 0.0)
    if start is None:  # told at its own row, but for the first one, which no pair ends with
        return ClockJump(before.seq, 0.0) if before.seq == 1 else None
    passed = (end - start).total_seconds()
    # A new session may run after a restart of the machine, where monotonic time begins anew.
    new_session = after.kind == "started" or after.monotonic_ms < before.monotonic_ms
    if new_session:
        return ClockJump(after.seq, passed) if passed < -TOLERANCE_S else None
    ahead = passed - (after.monotonic_ms - before.monotonic_ms) / 1000
    return ClockJump(after.seq, round(ahead, 3)) if abs(ahead) > TOLERANCE_S else None
