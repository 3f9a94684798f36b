"""Exceptions of a job: everything a supervisor should look at twice."""

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core import events as ev
from assistant.core import trade
from assistant.core.advice import Drift, Outcome
from assistant.core.band import Verdict, as_judged
from assistant.core.length import Length, System, inches, tape
from assistant.core.neighbours import Neighbours
from assistant.core.plan import Pull
from assistant.core.record import PullRecord
from assistant.core.reversal import Reversal
from assistant.record.figures import number, over, words
from assistant.record.telling import tell
from assistant.record.walk import Step


@dataclass(frozen=True)
class Finding:
    """One exception."""

    kind: str
    """'other plan', 'short', 'over', 'other verdict', 'skipped', 'not made', 'head too far', 'uneven', 'drift', 'note',
    'slipped', 'refused', 'misheard', 'scratched', 'rejected' or 'reopened'."""
    text: str
    pulls: tuple[int, ...] = ()
    """Numbers of the pulls concerned."""
    seq: int | None = None
    """The row it stands in, where it is one."""


GRAVEST_FIRST = (
    *("other plan", "short", "not made", "over", "other verdict", "head too far", "uneven", "drift", "skipped", "note"),
)
"""Exceptions of the work, in the order they are shown; corrections follow in the order they happened."""


def of_plan(*, otherwise: bool) -> tuple[Finding, ...]:
    """A job planned by a version that plans otherwise."""
    text = "made by a version that plans this room otherwise: positions and bands shown are not those called out then"
    return (Finding("other plan", f"{text}; review it with that version"),) if otherwise else ()


def in_order(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """The gravest kind first."""
    rank = {kind: place for place, kind in enumerate(GRAVEST_FIRST)}
    return tuple(sorted(found, key=lambda each: rank.get(each.kind, len(rank))))


def of_pulls(made: Sequence[tuple[Pull, Outcome | None]], system: System) -> tuple[Finding, ...]:
    """Pulls outside their band."""
    return tuple(
        Finding(outcome.verdict.value, _outside(pull, outcome, system), (pull.number,))
        for pull, outcome in made
        if outcome is not None and outcome.verdict in (Verdict.SHORT, Verdict.OVER)
    )


def of_estimates(found: Sequence[Reversal]) -> tuple[Finding, ...]:
    """Pulls not measured after hooking that were shown with another verdict then: others were measured since."""
    told = "shown as {was} when hooked, {now} by what others lost since"
    return tuple(
        Finding("other verdict", told.format(was=each.was.value, now=each.now.value), (each.pull.number,))
        for each in found
    )


def of_notes(pulls: Sequence[tuple[Pull, PullRecord]]) -> tuple[Finding, ...]:
    """Notes, be the pull made or left out."""
    noted = [(pull.number, each) for pull, record in pulls for each in record.notes]
    return tuple(Finding("note", f"{words(each)} noted", (number,)) for number, each in noted)


def _outside(pull: Pull, outcome: Outcome, system: System) -> str:
    how = "measured" if outcome.measured else "estimated"
    limit = pull.band.tape_least if pull.band is not None else None
    asked = "at least"
    if outcome.verdict is Verdict.OVER and pull.band is not None:
        limit, asked = pull.band.tape_most, "at most"
    shown = tape(limit, system) if limit is not None else "-"
    of_each = f" of each of {pull.parts} parts" if pull.parts > 1 else ""
    moved = as_judged(outcome.moved, pull.band, system)
    return f"{tape(moved, system)} {how}, {asked} {shown}{of_each} asked"


def of_gaps(skipped: Sequence[tuple[Pull, PullRecord]], missing: Sequence[Pull]) -> tuple[Finding, ...]:
    """Pulls left out, and pulls never finished."""
    left_out = [Finding("skipped", f"left out: {words(record.skipped)}", (pull.number,)) for pull, record in skipped]
    return (*left_out, *(Finding("not made", "never finished", (pull.number,)) for pull in missing))


def of_heads(pulls: Sequence[tuple[Pull, PullRecord]], system: System) -> tuple[Finding, ...]:
    """Heads set too far off the wall (common practice; a setting, no published limit)."""
    limit = inches(trade.HEAD_FROM_WALL_WARN.value)
    far = [(pull, record.heads) for pull, record in pulls if any(head > limit for head in record.heads)]
    return tuple(Finding("head too far", _far(heads, limit, system), (pull.number,)) for pull, heads in far)


def _far(heads: Sequence[Length], limit: Length, system: System) -> str:
    told = ", then ".join(tape(each, system) for each in heads)
    return f"head {told} off the wall, warned over {tape(limit, system)} (common practice)"


def of_jumps(jumps: Sequence[Neighbours]) -> tuple[Finding, ...]:
    """Neighbours that were stretched unevenly."""
    most = number(trade.NEIGHBOUR_JUMP.value)
    return tuple(
        Finding("uneven", f"{over(each.points)} points apart, over {most}", (each.first.number, each.second.number))
        for each in jumps
    )


def of_drifts(drifts: Sequence[Drift]) -> tuple[Finding, ...]:
    """Passes along which the stretch or the fall-back changes steadily."""
    most = number(trade.DRIFT_RUN.value)
    return tuple(
        Finding("drift", f"{each.what} changes by {over(each.points)} points along the pass, over {most}", ends)
        for each in drifts
        for ends in ((each.first.number, each.last.number),)
    )


_KINDS: dict[type, str] = {
    ev.Slipped: "slipped",
    ev.Refused: "refused",
    ev.Scratched: "scratched",
    ev.Rejected: "rejected",
    ev.PullReopened: "reopened",
}


def of_talk(steps: Sequence[Step], system: System) -> tuple[Finding, ...]:
    """Figures refused, words misheard, and everything taken back."""
    found = []
    said = ""
    for step in steps:
        event = step.event
        if isinstance(event, ev.Said):
            said = event.text
        kind = "misheard" if event in (ev.Missed("noinput"), ev.Missed("nomatch")) else _KINDS.get(type(step.stands))
        if kind is not None:
            pulls = (step.pull,) if step.pull is not None else ()
            found.append(Finding(kind, _talk(step, said, system), pulls, step.row.seq))
    return tuple(found)


def _talk(step: Step, said: str, system: System) -> str:
    event = step.event
    if isinstance(event, ev.Refused) or event == ev.Missed("nomatch"):
        return f"“{said}”: {tell(event, system)}"
    if isinstance(event, ev.Scratched | ev.Rejected):
        what = tell(step.undone, system) if step.undone is not None else "nothing"
        return f"{what}: {'taken back' if isinstance(event, ev.Scratched) else 'turned down'}"
    return tell(step.stands, system)
