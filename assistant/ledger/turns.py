"""What a row does to a job, for the rows that most jobs are made of; lengths as whole numbers.

Most rows say one of a few things again and again, so what each does is worked out once and kept. For a row that is none
of these there is Doubt, and another reading decides.
"""

from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any

from assistant.core import events as ev
from assistant.core.length import Length, feet, inches
from assistant.core.log_events import CarriedOn, ClockJumped, SoundKept, Unknown
from assistant.core.room import Axis
from assistant.ledger.plain import rules_of
from assistant.record.codec import decode
from assistant.record.walk import on_a_tape


class Doubt(Exception):
    """Only a more careful reading can say what this job came to."""


# What a row does. Plain numbers: they are compared a million times in a folder of ten thousand jobs.
READ, HOOKED, HOLD, SKIPPED, NOTED, BESIDE, FINISHED, REOPENED = range(8)
"""Changes of the pulls, which 'scratch that' takes back; the last one drops what waits for a yes, too."""
SET_UP = 8
"""A change of what stands before the plan, likewise."""
PROPOSED, CONFIRMED, REJECTED, SCRATCHED, STARTED, CARRIED, NOTHING = range(9, 16)
"""No changes of the job."""

Turn = tuple[int, Any]
"""One of these, and with what: a length in whole numbers, a reason, a pull's number, a turn that waits for a yes."""


# What a change before the plan sets.
JOB, CONSTRUCTION, FIGURE, PATTERN, SIDES, CORNER, LAY, NO_MATTER = range(8)
"""The last ones are recorded, but in no fact."""

TO_THE_INCH = 40_640
"""Both tapes in whole numbers: 2,540 are a sixteenth of an inch, 1,600 a millimetre; even, so that halves are whole."""

_SIDE_MOST = feet(100)
_HEAD_LEAST = inches(1)
"""Beyond these another reading must look whether a plan can be made at all."""
_CACHED = 65_536
"""Different rows kept, some 20 MB at most."""


def units(length: Length) -> int:
    """A length in whole numbers, TO_THE_INCH to the inch. Raises Doubt for one that is on neither tape."""
    whole, rest = divmod(length.inches.numerator * TO_THE_INCH, length.inches.denominator)
    if rest:
        raise Doubt
    return whole


@lru_cache(maxsize=_CACHED)
def turn_of(kind: str, payload: str) -> Turn:
    """What the row does. Raises Doubt where there is no rule for it, BadRow where it is no event."""
    return _turn(decode(kind, payload))


def _turn(event: ev.Event) -> Turn:
    told = _TURNS.get(type(event))
    if told is None or not on_a_tape(event):
        raise Doubt
    return told(event)


def _started(event: ev.Started) -> Turn:
    head = event.head
    sane = head.width >= _HEAD_LEAST and inches(0) <= head.gap_least <= head.gap_most
    if not sane or any(rule.first_angle for rule in event.order.passes):
        raise Doubt
    return STARTED, (event, rules_of(event.order, head))


def _sides(*sides: tuple[Axis, Length]) -> Turn:
    if not all(inches(0) < side <= _SIDE_MOST for _, side in sides):
        raise Doubt
    for _, side in sides:
        units(side)  # a side on no tape is doubted here
    return SET_UP, (SIDES, dict(sides))


def _hold(event: ev.HoldTaken) -> Turn:
    return HOLD, None if event.moved is None else units(event.moved)


def _hooked(event: ev.Hooked) -> Turn:
    if event.measure is None:  # as logs before that field: core.fold knows what was asked then
        raise Doubt
    return HOOKED, event.measure


def _noted(event: ev.NoteMade) -> Turn:
    if event.pull:  # of another pull than the one at hand: rare
        raise Doubt
    return NOTED, None


def _set(what: int, field: str) -> Callable[[Any], Turn]:
    return lambda event: (SET_UP, (what, getattr(event, field)))


def _by_direction(what: int, field: str) -> Callable[[Any], Turn]:
    return lambda event: (SET_UP, (what, {event.direction: getattr(event, field)}))


def _always(turn: Turn) -> Callable[[Any], Turn]:
    return lambda event: turn


_TURNS: dict[type, Callable[[Any], Turn]] = {
    ev.ReadingTaken: lambda event: (READ, units(event.moved)),
    ev.Hooked: _hooked,
    ev.HoldTaken: _hold,
    ev.PullSkipped: lambda event: (SKIPPED, event.reason),
    ev.PullReopened: lambda event: (REOPENED, event.number),
    ev.NoteMade: _noted,
    # Where the head stands, whether it slipped and which pass is begun are in no fact.
    **dict.fromkeys((ev.HeadSet, ev.Slipped, ev.PassBegun), _always((BESIDE, None))),
    ev.JobFinished: _always((FINISHED, None)),
    ev.Started: _started,
    ev.JobNamed: _set(JOB, "digits"),
    ev.ConstructionChosen: _set(CONSTRUCTION, "construction"),
    ev.FigureSet: _by_direction(FIGURE, "figure"),
    ev.PatternSet: _by_direction(PATTERN, "points"),
    ev.SidesSet: lambda event: _sides((Axis.DOOR_TO_FAR, event.length), (Axis.LEFT_TO_RIGHT, event.width)),
    ev.SideSet: lambda event: _sides((event.axis, event.length)),
    ev.CornerChosen: _set(CORNER, "corner"),
    ev.LayChosen: _set(LAY, "axis"),
    **dict.fromkeys(
        (
            *(ev.ConditionNoted, ev.ConditionWorded, ev.ConditionsSkipped),
            *(ev.DiagonalSet, ev.SquareSettled, ev.OpeningsSettled),
        ),
        _always((SET_UP, (NO_MATTER, None))),
    ),
    ev.Proposed: lambda event: (PROPOSED, _turn(event.event)),
    ev.Confirmed: _always((CONFIRMED, None)),
    ev.Rejected: _always((REJECTED, None)),
    ev.Scratched: _always((SCRATCHED, None)),
    CarriedOn: lambda event: (CARRIED, event.file),
    **dict.fromkeys(
        (
            *(ev.Missed, ev.Refused, ev.SkipAsked, ev.Offered, ev.Chosen),
            *(ev.Paused, ev.Resumed, ev.VoiceChanged, ClockJumped, SoundKept, Unknown),
        ),
        _always((NOTHING, None)),
    ),
}


def turns_of(pairs: Iterable[tuple[str, str]]) -> list[Turn]:
    """Of rows as kind and payload; what was said needs no turn, what followed from it stands in rows of its own."""
    return [turn_of(*pair) for pair in pairs if pair[0] != "said"]
