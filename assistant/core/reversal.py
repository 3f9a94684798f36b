"""Verdicts turned round: what others lost since changes what a pull that was not measured is taken to hold."""

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core.advice import Losses, outcome
from assistant.core.band import Verdict
from assistant.core.plan import Pull
from assistant.core.record import Status
from assistant.core.state import State


@dataclass(frozen=True)
class Reversal:
    """Of one pull."""

    pull: Pull
    was: Verdict
    """When it was done with."""
    now: Verdict


def reversals(state: State) -> tuple[Reversal, ...]:
    """Pulls not measured after hooking that have another verdict now, in the plan's order."""
    return tuple(found for pull, then in _when_done(state) if (found := _reversal(pull, then, state)) is not None)


def now_short(state: State) -> tuple[int, ...]:
    """Numbers of the pulls that were long enough when they were hooked, and are short by now."""
    return tuple(each.pull.number for each in reversals(state) if each.now is Verdict.SHORT)


def _when_done(state: State) -> Iterator[tuple[Pull, State]]:
    """The estimated pulls, each with how the job stood when it was done with."""
    pulls = () if state.plan is None else state.plan.pulls
    estimated = (each.status is Status.DONE and each.hold is None and each.readings for each in state.records)
    left = {at for at, each in enumerate(estimated) if each}
    found: dict[int, State] = {}
    later, earlier = state, state.before
    while left and earlier is not None and len(earlier.records) == len(later.records):
        done = {at for at in left if earlier.records[at].status is not Status.DONE}
        found |= dict.fromkeys(done, later)
        left -= done
        later, earlier = earlier, earlier.before
    return ((pulls[at], found[at]) for at in sorted(found))


def _reversal(pull: Pull, then: State, state: State) -> Reversal | None:
    was, now = _verdict(pull, then), _verdict(pull, state)
    return None if was is now else Reversal(pull, was, now)


def _verdict(pull: Pull, state: State) -> Verdict:
    assert state.plan is not None, "it has this pull"
    made = outcome(pull, state.records[pull.number - 1], Losses(state.plan.pulls, state.records))
    assert made is not None, "it was done with, after a reading"
    return made.verdict
