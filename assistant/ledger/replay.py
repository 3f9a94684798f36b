"""What the events after the plan do to the pulls: core.fold's rules, without a whole state for each event."""

from collections.abc import Callable
from typing import Any

from assistant.core import events as ev
from assistant.core.log_events import CarriedOn, ClockJumped, SoundKept, Unknown
from assistant.core.record import PullRecord, Reading, Status
from assistant.core.state import State
from assistant.ledger.turns import Doubt
from assistant.record.walk import on_a_tape

_NONE = PullRecord()


class Replay:
    """The pulls of a job whose plan is made. Raises Doubt at whatever it has no rule for."""

    def __init__(self, state: State) -> None:
        """`state` right after the plan; a job without one has nothing to replay."""
        self._records = list(state.records)
        self._planned = bool(state.records)
        self._at = state.at
        self._proposed = state.proposed
        self.finished = state.finished
        self._undo: list[tuple[int, int, PullRecord, bool]] = []

    @property
    def records(self) -> tuple[PullRecord, ...]:
        """What became of each pull."""
        return tuple(self._records)

    def take(self, event: ev.Event) -> None:
        """One more event."""
        change = _CHANGES.get(type(event))
        if not on_a_tape(event):
            raise Doubt
        if change is not None:
            self._change(change, event)
        elif isinstance(event, ev.Proposed):
            self._proposed = event.event
        elif isinstance(event, ev.Confirmed):
            self._confirm()
        elif isinstance(event, ev.Rejected):
            self._proposed = None
        elif isinstance(event, ev.Scratched):
            self._scratch()
        elif not isinstance(event, _WITHOUT_EFFECT):
            raise Doubt

    def _confirm(self) -> None:
        held, self._proposed = self._proposed, None
        if held is not None:
            if type(held) not in _CHANGES:
                raise Doubt
            self.take(held)

    def _scratch(self) -> None:
        if not self._undo:
            raise Doubt  # that goes back behind the plan
        self._at, place, record, self.finished = self._undo.pop()
        self._records[place] = record
        self._proposed = None

    def _change(self, change: Callable[["Replay", Any], None], event: ev.Event) -> None:
        # Logs of older versions may go on while a hold reading is due: core.fold knows what that meant, this does not.
        beside = self.here.hold_due and isinstance(event, ev.NoteMade | ev.PullReopened)
        if not self._planned or not (beside or self.here.hold_due == isinstance(event, ev.HoldTaken)):
            raise Doubt
        place = event.number - 1 if isinstance(event, ev.PullReopened) else self._at
        place = place if 0 <= place < len(self._records) else 0
        self._undo.append((self._at, place, self._records[place], self.finished))
        change(self, event)

    @property
    def here(self) -> PullRecord:
        """The present pull's record; an empty one after the last."""
        return self._records[self._at] if self._at < len(self._records) else _NONE

    def _put(self, **changed: Any) -> None:
        if self._at < len(self._records):
            # As dataclasses.replace does it, in a third of the time.
            self._records[self._at] = PullRecord(**(vars(self._records[self._at]) | changed))

    def _onward(self) -> None:
        waiting = (at for at, each in enumerate(self._records) if each.status is Status.TO_COME)
        self._at = next(waiting, len(self._records))

    def _head(self, event: ev.HeadSet) -> None:
        self._put(heads=(*self.here.heads, event.distance))

    def _reading(self, event: ev.ReadingTaken) -> None:
        reading = Reading(event.moved, event.manner, fresh=self.here.slipped)
        self._put(readings=(*self.here.readings, reading), slipped=False)

    def _slipped(self, event: ev.Slipped) -> None:
        self._put(slipped=True)

    def _hooked(self, event: ev.Hooked) -> None:
        if event.measure is None:
            raise Doubt
        self._put(hooked=True, hold_due=event.measure)
        self._onward()

    def _hold(self, event: ev.HoldTaken) -> None:
        self._put(hold=None if event.moved is None else Reading(event.moved, event.manner), hold_due=False)
        self._onward()

    def _skipped(self, event: ev.PullSkipped) -> None:
        self._put(skipped=event.reason)
        self._onward()

    def _reopened(self, event: ev.PullReopened) -> None:
        if not 1 <= event.number <= len(self._records):
            return
        self._at, self._proposed = event.number - 1, None
        self._put(lost=self.here.losses, hooked=False, hold_due=False, hold=None, skipped="", slipped=True)

    def _note(self, event: ev.NoteMade) -> None:
        if event.pull:
            raise Doubt
        self._put(notes=(*self.here.notes, event.kind))

    def _finished(self, event: ev.JobFinished) -> None:
        self.finished = True

    def _begun(self, event: ev.PassBegun) -> None:
        """Which pass is begun changes no pull."""


_CHANGES: dict[type, Callable[[Replay, Any], None]] = {
    ev.HeadSet: Replay._head,
    ev.ReadingTaken: Replay._reading,
    ev.Slipped: Replay._slipped,
    ev.Hooked: Replay._hooked,
    ev.HoldTaken: Replay._hold,
    ev.PullSkipped: Replay._skipped,
    ev.PullReopened: Replay._reopened,
    ev.NoteMade: Replay._note,
    ev.JobFinished: Replay._finished,
    ev.PassBegun: Replay._begun,
}

_WITHOUT_EFFECT = (
    ev.Started,
    ev.Missed,
    ev.Refused,
    ev.SkipAsked,
    ev.Offered,
    ev.Chosen,
    ev.Paused,
    ev.Resumed,
    ev.VoiceChanged,
    CarriedOn,
    ClockJumped,
    SoundKept,
    Unknown,
)
