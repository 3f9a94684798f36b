"""What became of each pull of a plan: core.fold's rules in lists of whole numbers, without a state for each event."""

from collections.abc import Iterable
from typing import Any

from assistant.ledger import turns as do
from assistant.ledger.turns import Doubt, Turn

Made = tuple[int, int | None, int | None, str, int, bool]
"""What became of a pull: bites, last reading, hold reading, why it was skipped, notes, done; see Outcomes."""


class Outcomes:
    """The pulls of a plan, by place; lengths as `turns.units`. Raises Doubt at what it has no rule for."""

    def __init__(self, count: int, changes: Iterable[Turn] = ()) -> None:
        self.bites = [0] * count
        """Readings taken."""
        self.last: list[int | None] = [None] * count
        """The last of them."""
        self.hold: list[int | None] = [None] * count
        """As measured after hooking."""
        self.lost: list[tuple[int, ...]] = [()] * count
        """What hooking lost before a pull was taken up again."""
        self.skipped = [""] * count
        """The reason; '' = not skipped."""
        self.notes = [0] * count
        self.done = [False] * count
        """Hooked and, where that was asked, measured again."""
        self.finished = False
        self._at, self._count = 0, count
        # One more than there are pulls: behind the last one nothing is settled, and nothing is due.
        self._settled = [False] * (count + 1)
        self._due = [False] * (count + 1)
        for what, value in changes:
            # Logs of older versions may go on while a hold reading is due: core.fold knows what that meant.
            due = self._due[self._at]
            if due != (what == do.HOLD) and not (due and what in (do.NOTED, do.REOPENED)):
                raise Doubt
            if self._at < count or what in (do.REOPENED, do.FINISHED):
                _CHANGES[what](self, value)

    def pulls(self) -> list[Made]:
        """Pull by pull."""
        return list(zip(self.bites, self.last, self.hold, self.skipped, self.notes, self.done, strict=True))

    def losses(self, place: int) -> tuple[int, ...]:
        """All that hooking was seen to lose at a pull, the repeats included."""
        last = self.loss(place)
        return self.lost[place] if last is None else (*self.lost[place], last)

    def loss(self, place: int) -> int | None:
        """What hooking lost at a pull, where it was measured."""
        hold, last = self.hold[place], self.last[place]
        return None if hold is None or last is None else last - hold

    def _onward(self) -> None:
        self._at = self._settled.index(False)

    def _read(self, moved: int) -> None:
        self.bites[self._at] += 1
        self.last[self._at] = moved

    def _hooked(self, measure: bool) -> None:
        self._due[self._at] = measure
        self._settle(done=not measure)

    def _hold(self, moved: int | None) -> None:
        self.hold[self._at], self._due[self._at] = moved, False
        self._settle(done=True)

    def _skip(self, reason: str) -> None:
        self.skipped[self._at] = reason
        self._settle(done=self.done[self._at])

    def _settle(self, *, done: bool) -> None:
        self.done[self._at] = done
        self._settled[self._at] = done or self.skipped[self._at] != ""
        self._onward()

    def _reopen(self, number: int) -> None:
        if not 1 <= number <= self._count:
            return
        at = self._at = number - 1
        loss = self.loss(at)
        if loss is not None:
            self.lost[at] += (loss,)
        self.hold[at], self.skipped[at] = None, ""
        self.done[at] = self._settled[at] = self._due[at] = False

    def _note(self, _: None) -> None:
        self.notes[self._at] += 1

    def _finish(self, _: None) -> None:
        self.finished = True

    def _beside(self, _: None) -> None:
        """In no fact."""


_CHANGES: dict[int, Any] = {
    do.READ: Outcomes._read,
    do.HOOKED: Outcomes._hooked,
    do.HOLD: Outcomes._hold,
    do.SKIPPED: Outcomes._skip,
    do.REOPENED: Outcomes._reopen,
    do.NOTED: Outcomes._note,
    do.BESIDE: Outcomes._beside,
    do.FINISHED: Outcomes._finish,
}
