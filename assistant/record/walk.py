"""Goes through the rows of a job once: state after each, what each did, what was taken back, how time passed."""

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core import events as ev
from assistant.core.fold import apply
from assistant.core.length import ZERO, Length, feet, inches
from assistant.core.state import State
from assistant.record.chain import Row
from assistant.record.codec import BadRow, decode

_LONGEST = feet(1000)
_HEAD_LEAST = inches(1)
"""Far beyond what the session lets through; a plan within them is made in no time."""


@dataclass(frozen=True)
class Step:
    """One row with its place in the job."""

    row: Row
    event: ev.Event
    before: State
    after: State
    undone: ev.Event | None = None
    """What a 'scratch that' took back, or what a 'no' turned down."""
    undone_row: int | None = None
    """Number of the row in which that was first told."""

    @property
    def stands(self) -> ev.Event:
        """The event, or what it let stand with a 'yes'."""
        return self._asked or self.event if isinstance(self.event, ev.Confirmed) else self.event

    @property
    def pull(self) -> int | None:
        """Number of the pull concerned; None before the plan and after the last one.

        The one at hand; for 'go back' and the question whether a pull is made again that one, for 'scratch that' the
        one it goes back to, for a note the one it names.
        """
        noted = self.undone if isinstance(self.event, ev.Scratched) else self.event
        if isinstance(noted, ev.NoteMade) and noted.pull:
            return noted.pull
        if isinstance(self._asked, ev.PullReopened):
            return self._asked.number
        goes_back = isinstance(self.event, ev.PullReopened | ev.Scratched)
        pull = self.after.pull if goes_back else self.before.pull
        return pull.number if pull is not None else None

    @property
    def _asked(self) -> ev.Event | None:
        """What is asked about by this step, or was answered with 'yes' or 'no'."""
        if isinstance(self.event, ev.Proposed):
            return self.event.event
        return self.before.proposed if isinstance(self.event, ev.Confirmed | ev.Rejected) else None


@dataclass(frozen=True)
class Walk:
    """All steps of a job."""

    steps: tuple[Step, ...]
    state: State
    """Where the job stands at the end."""
    trouble: str
    """Why the walk ended before the last row; '' = it did not."""


def walk(rows: Sequence[Row]) -> Walk:
    """Fold the rows one by one. Rows that are no events are kept as unknown; an impossible event ends the walk."""
    steps: list[Step] = []
    changes = _Changes()
    state = State()
    trouble = ""
    for row in rows:
        event, why = _event(row)
        trouble = trouble or why
        next_one = after(state, event)
        if next_one is None:
            return Walk(tuple(steps), state, f"row {row.seq} ({row.kind}) cannot follow the rows before it")
        steps.append(Step(row, event, state, next_one, *changes.undone(state, event)))
        changes.note(state, next_one, event, row.seq)
        state = next_one
    return Walk(tuple(steps), state, trouble)


def on_a_tape(event: ev.Event) -> bool:
    """Are its lengths such as can be measured? Others take all memory to draw or to plan."""
    return all(ZERO - _LONGEST <= each <= _LONGEST for each in lengths_of(event))


def lengths_of(event: ev.Event) -> tuple[Length, ...]:
    """The lengths that the event itself tells."""
    return tuple(each for each in vars(event).values() if isinstance(each, Length))


def after(state: State, event: ev.Event) -> State | None:
    """The next state; None for an event no session could have written, so that a made-up log stops no reviewer."""
    sides = lengths_of(event) if isinstance(event, ev.SideSet | ev.SidesSet) else ()
    head = event.head.width if isinstance(event, ev.Started) else _HEAD_LEAST
    if head < _HEAD_LEAST or not all(each > ZERO for each in sides) or not on_a_tape(event):
        return None
    try:
        held = state.proposed if isinstance(event, ev.Confirmed) else None
        return apply(state, event) if held is None or after(state, held) is not None else None
    except (ArithmeticError, LookupError, ValueError, TypeError, AttributeError, RecursionError):
        return None


def _event(row: Row) -> tuple[ev.Event, str]:
    try:
        return decode(row.kind, row.payload, row.seq), ""
    except BadRow as error:
        return ev.Unknown(row.kind, row.payload), error.line


class _Changes:
    """The stack of changes that 'scratch that' goes back through, as the fold keeps it, each with its row."""

    def __init__(self) -> None:
        self._made: list[tuple[ev.Event, int]] = []
        self._proposed_in = 0

    def undone(self, state: State, event: ev.Event) -> tuple[ev.Event | None, int | None]:
        """What `event` takes back or turns down, and the row it was told in."""
        if isinstance(event, ev.Rejected) and state.proposed is not None:
            return state.proposed, self._proposed_in
        if isinstance(event, ev.Scratched) and state.before is not None and self._made:
            return self._made.pop()
        return None, None

    def note(self, state: State, after: State, event: ev.Event, row: int) -> None:
        """Keep what `event` changed."""
        if isinstance(event, ev.Proposed):
            self._proposed_in = row
        if isinstance(event, ev.Scratched) or after.before is state.before:
            return
        held = state.proposed if isinstance(event, ev.Confirmed) else None
        self._made.append((event, row) if held is None else (held, self._proposed_in))
