"""One event in a few plain words, for the report."""

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from assistant.core import events as ev
from assistant.core.band import Figure
from assistant.core.conditions import Noted, name_of
from assistant.core.floor import Opening
from assistant.core.length import ZERO, Length, System, system_of, tape
from assistant.core.meaning import Quantity
from assistant.core.pull import Pull
from assistant.record.figures import number, words

_UNITS = {"in": "in", "mm": "mm", "pct": "%", "F": "°F", "C": "°C", "h": "h", "pH": ""}


def quantity(value: Quantity | None) -> str:
    """A spoken figure with its unit; 'not recorded' where it was skipped."""
    if value is None:
        return "not recorded"
    if value.unit in ("in", "mm"):
        return tape(Length.of(value), system_of(value))
    return f"{number(value.value)} {_UNITS.get(value.unit, value.unit)}".rstrip()


def noted(value: Noted) -> str:
    """A condition as said: '7/16 in', 'one row', 'no slab', 'not recorded'."""
    return words(value.word) or quantity(value.quantity)


def points(value: Fraction) -> str:
    """What a pattern asks on top of the figure: '0.25 % for the pattern'."""
    return f"{number(value, 4)} % for the pattern"


def figure(value: Figure | None) -> str:
    """A figure in per cent: '1 to 1.5 %', 'at least 1 %', 'none'."""
    if value is None:
        return "none"
    least = number(value.least, 4)
    return f"at least {least} %" if value.most is None else f"{least} to {number(value.most, 4)} %"


def asked(value: Figure | None, pattern: Fraction) -> str:
    """The figure that governs and what the pattern has in it: '1.25 to 1.75 % (0.25 % for the pattern)'."""
    return f"{figure(value)} ({points(pattern)})" if pattern else figure(value)


def tell(event: ev.Event, system: System) -> str:
    """What an event did; '' for those that say nothing by themselves."""
    told = _TOLD.get(type(event), "")
    return told if isinstance(told, str) else told(event, system)


_TAILS = {
    "doorway": "tail in a doorway",
    "hearth": "tail on a hearth",
    "island": "tail on an island",
    "reflex": "tail past a corner",
}


def wall_name(pull: Pull, *, outlined: bool) -> str:
    """The wall a pull goes to: 'the far wall'; by its number where the room is told wall by wall: 'wall 5'."""
    return f"wall {pull.wall_number}" if outlined else f"the {pull.wall.value} wall"


def placing(pull: Pull, system: System) -> tuple[str, ...]:
    """What is out of the ordinary about where head and tail stand; nothing for a straight pull from wall to wall."""
    lean = f"leaning {number(pull.angle)} degrees" if pull.angle else ""
    parts = f"each of {pull.parts} parts of {tape(pull.stretched, system)}" if pull.parts > 1 else ""
    return tuple(filter(None, (parts, lean, _TAILS.get(pull.flag, ""))))


def opening(given: Opening, system: System, side: str) -> str:
    """'doorway in the far wall, 3 ft to 5 ft 8 in', 'hearth in wall 5, 3 ft to 8 ft, 1 ft 6 in deep'."""
    where = f"the {side} wall" if side else f"wall {given.wall}"
    deep = f", {tape(given.depth, system)} deep" if given.depth > ZERO else ""
    return f"{given.kind.value} in {where}, {tape(given.start, system)} to {tape(given.end, system)}{deep}"


def _turn(degrees: Fraction) -> str:
    side = "right" if degrees > 0 else "left"
    return f"turn {side}" if abs(degrees) == 90 else f"bear {side} {number(abs(degrees))} degrees"


def _long(length: Length | None, system: System, manner: str = "") -> str:
    return "skipped" if length is None else f"{tape(length, system)} {manner}".rstrip()


_SQUARE = {"square": "square, as said", "measured": "square: measured"}
_MISSED = {"noinput": "nothing heard", "nomatch": "not understood"}

_TOLD: dict[type, str | Callable[[Any, System], str]] = {
    # The job and its carpet.
    ev.JobNamed: lambda it, _: f"job {it.digits}",
    ev.ConstructionChosen: lambda it, _: f"carpet: {words(it.construction.value)}",
    ev.FigureSet: lambda it, _: f"maker's figure, {it.direction.value}: {figure(it.figure)}",
    ev.PatternSet: lambda it, _: f"on top, {it.direction.value}: {points(it.points)}",
    ev.ConditionNoted: lambda it, _: f"{name_of(it.kind)}: {quantity(it.quantity)}",
    ev.ConditionWorded: lambda it, _: f"{name_of(it.kind)}: {words(it.word)}",
    ev.ConditionsSkipped: lambda it, _: f"not recorded: {', '.join(map(name_of, it.kinds))}",
    # The room; what was measured carries the tape it was measured on.
    ev.SideSet: lambda it, _: f"side {words(it.axis.value)}: {_long(it.length, it.system)}",
    ev.SidesSet: lambda it, _: f"room {_long(it.length, it.system)} by {_long(it.width, it.system)}",
    ev.OutlineBegun: "wall by wall",
    ev.WallSet: lambda it, _: f"wall {_long(it.length, it.system)}, {_turn(it.turn)}",
    ev.WallMended: lambda it, _: f"wall {it.wall} measured again: {_long(it.length, it.system)}",
    ev.OutlineClosed: lambda it, _: f"outline closed, {_long(it.off, it.system)} off",
    ev.SecondSideSet: lambda it, _: f"{it.wall.value} wall: {_long(it.length, it.system)}",
    ev.DiagonalSet: lambda it, _: f"diagonal: {_long(it.length, it.system)}",
    ev.SquareSettled: lambda it, _: _SQUARE.get(it.how, "square: not checked"),
    ev.OpeningSet: lambda it, _: opening(it.opening, it.system, it.side),
    ev.OpeningsSettled: lambda it, _: "openings: not recorded" if it.how == "skipped" else "openings told",
    ev.CornerChosen: lambda it, _: f"start corner {words(it.corner.value)}",
    ev.LayChosen: lambda it, _: f"carpet length {words(it.axis.value)}",
    # Pulling.
    ev.PassBegun: lambda it, _: f"pass {it.number} begun",
    ev.HeadSet: lambda it, system: f"head {_long(it.distance, system)} off the wall",
    ev.ReadingTaken: lambda it, system: f"reading {_long(it.moved, system, it.manner)}",
    ev.Slipped: "the head slipped",
    ev.Hooked: "hooked",
    ev.HoldTaken: lambda it, system: f"hold reading {_long(it.moved, system, it.manner)}",
    ev.SkipAsked: "skip asked",
    ev.PullSkipped: lambda it, _: f"skipped: {words(it.reason)}",
    ev.PullReopened: lambda it, _: f"pull {it.number} again",
    ev.NoteMade: lambda it, _: f"note: {words(it.kind)}",
    # Talk.
    ev.Proposed: lambda it, system: f"asked back: {tell(it.event, system)} ({words(it.why)})",
    ev.Offered: lambda it, _: f"asked which: {', or '.join(each.text for each in it.choices)}",
    ev.Chosen: lambda it, _: f"chosen: number {it.number}" if it.number else "chosen: neither",
    ev.Confirmed: "confirmed",
    ev.Rejected: "rejected",
    ev.Scratched: "scratched",
    ev.Missed: lambda it, _: _MISSED.get(it.kind, it.kind),
    ev.Refused: lambda it, _: f"refused: {words(it.why)}",
    ev.Paused: "paused",
    ev.Resumed: "resumed",
    ev.VoiceChanged: lambda it, _: f"voice {it.how}",
    ev.JobFinished: "job finished",
    ev.Unknown: lambda it, _: f"unknown kind '{it.kind}', kept",
}
"""What each kind of event tells; those not named say nothing by themselves."""
