"""How a plain job went: what it was set up as, and the changes of its pulls that stand in the end.

Doubted, confirmed, turned down, scratched: core.fold keeps a state for each; here a change that was scratched is taken
off a list. tests/ledger hold both against each other.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from assistant.core import events as ev
from assistant.core.band import Construction, Figure, figure_for
from assistant.core.deadman import split
from assistant.core.order import Direction
from assistant.core.room import Axis
from assistant.ledger import turns as do
from assistant.ledger.plain import Rules, Share, shares_of
from assistant.ledger.turns import Doubt, Turn

_BOTH = (Direction.LENGTH, Direction.CROSS)


class Course:
    """A job from its turns. Raises Doubt for one that has no plan, or whose set-up was touched after it."""

    def __init__(self, turns: Sequence[Turn]) -> None:
        self.begun: list[ev.Started] = []
        """One for each session."""
        self.carried_from = ""
        self.shares: tuple[Share, ...] = ()
        """What the plan asks, pass by pass."""
        self.count = 0
        """Of its pulls."""
        self.set_up: dict[int, Any] = {}
        """What stands of the set-up."""
        self.changes: list[Turn] = []
        """Of the pulls, in order, those that stand."""
        self._rules: Rules | None = None
        self._held: Turn | None = None
        for turn in turns:
            if turn[0] < do.REOPENED and self.shares:  # most are
                self.changes.append(turn)
            elif turn[0] <= do.SET_UP:
                self._change(turn)
            elif turn[0] != do.NOTHING:
                _ASIDES[turn[0]](self, turn[1])
        if not self.shares:
            raise Doubt

    def _change(self, turn: Turn) -> None:
        what, value = turn
        if (what == do.SET_UP) == bool(self.shares):
            raise Doubt
        self.changes.append(turn)
        if what == do.REOPENED and 1 <= value <= self.count:
            self._held = None
        elif what == do.SET_UP and value[0] is do.LAY:
            self._plan()

    def _plan(self) -> None:
        found: dict[int, Any] = {do.FIGURE: {}, do.PATTERN: {}, do.SIDES: {}}
        for _, (what, value) in self.changes:
            found[what] = found[what] | value if isinstance(value, dict) else value
        if self._rules is None or do.CONSTRUCTION not in found or do.CORNER not in found:
            raise Doubt
        if len(found[do.SIDES]) < len(Axis):
            raise Doubt
        figures = {each: _figure(found, each) for each in _BOTH}
        self.shares = shares_of(self._rules, found[do.SIDES], found[do.LAY], figures)
        if not self.shares or self._in_parts():
            raise Doubt
        self.count = sum(each.pulls for each in self.shares)
        self.set_up, self.changes = found, []

    def _in_parts(self) -> bool:
        """Is a span beyond the first session's kit, and worked in parts that are judged each by itself?"""
        kit, distance = self.begun[0].kit, self.begun[0].distance
        if kit is None:
            return False
        splits = (split(span, kit, distance) for span in {each.span for each in self.shares})
        return any(each is not None and each.parts > 1 for each in splits)

    def _propose(self, turn: Turn) -> None:
        self._held = turn

    def _confirm(self, _: None) -> None:
        held, self._held = self._held, None
        if held is not None:
            if held[0] > do.SET_UP:
                raise Doubt
            self._change(held)

    def _reject(self, _: None) -> None:
        self._held = None

    def _scratch(self, _: None) -> None:
        if not self.changes:
            raise Doubt  # that goes back behind the plan, or behind the beginning
        self.changes.pop()
        self._held = None

    def _start(self, told: tuple[ev.Started, Rules]) -> None:
        event, rules = told
        if self._rules is None:
            if self.changes:
                raise Doubt  # scratching them would take the order away, too
            self._rules = rules
        self.begun.append(event)

    def _carry(self, file: str) -> None:
        self.carried_from = file


def _figure(found: dict[int, Any], direction: Direction) -> Figure | None:
    construction: Construction = found[do.CONSTRUCTION]
    return figure_for(construction, found[do.FIGURE].get(direction), found[do.PATTERN].get(direction, Fraction(0)))


_ASIDES: dict[int, Any] = {
    do.PROPOSED: Course._propose,
    do.CONFIRMED: Course._confirm,
    do.REJECTED: Course._reject,
    do.SCRATCHED: Course._scratch,
    do.STARTED: Course._start,
    do.CARRIED: Course._carry,
}
