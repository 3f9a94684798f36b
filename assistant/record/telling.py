"""One event in a few plain words, for the report."""

from fractions import Fraction

from assistant.core import events as ev
from assistant.core.band import Figure
from assistant.core.conditions import Noted, name_of
from assistant.core.floor import Opening
from assistant.core.length import ZERO, Length, System, system_of, tape
from assistant.core.meaning import Quantity
from assistant.core.pull import Pull

_BARE: dict[type, str] = {
    ev.OutlineBegun: "wall by wall",
    ev.Slipped: "the head slipped",
    ev.Hooked: "hooked",
    ev.SkipAsked: "skip asked",
    ev.Confirmed: "confirmed",
    ev.Rejected: "rejected",
    ev.Scratched: "scratched",
    ev.Paused: "paused",
    ev.Resumed: "resumed",
    ev.JobFinished: "job finished",
}
"""Events that carry nothing."""
_UNITS = {"in": "in", "mm": "mm", "pct": "%", "F": "°F", "C": "°C", "h": "h", "pH": ""}


def words(key: str) -> str:
    """A key as words: 'no_strip' -> 'no strip'."""
    return key.replace("_", " ")


def number(value: Fraction, places: int = 2) -> str:
    """A figure for the eye: '1.06', '45'."""
    return f"{float(value):.{places}f}".rstrip("0").rstrip(".") if places else str(round(value))


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
    return f"{number(value, 3)} % for the pattern"


def figure(value: Figure | None) -> str:
    """A figure in per cent: '1 to 1.5 %', 'at least 1 %', 'none'."""
    if value is None:
        return "none"
    least = number(value.least, 3)
    return f"at least {least} %" if value.most is None else f"{least} to {number(value.most, 3)} %"


def asked(value: Figure | None, pattern: Fraction) -> str:
    """The figure that governs and what the pattern has in it: '1.25 to 1.75 % (0.25 % for the pattern)'."""
    return f"{figure(value)} ({points(pattern)})" if pattern else figure(value)


def tell(event: ev.Event, system: System) -> str:
    """What an event did; '' for those that say nothing by themselves."""
    return _setting(event) or _room(event) or _carpet(event) or _pulling(event, system) or _talking(event, system)


def _long(length: Length | None, system: System, manner: str = "") -> str:
    return "skipped" if length is None else f"{tape(length, system)} {manner}".rstrip()


def _setting(event: ev.Event) -> str:
    match event:
        case ev.JobNamed(digits):
            return f"job {digits}"
        case ev.ConstructionChosen(construction):
            return f"carpet: {words(construction.value)}"
        case ev.SideSet(axis, length, own):
            return f"side {words(axis.value)}: {_long(length, own)}"
        case ev.SidesSet(length, width, own):
            return f"room {_long(length, own)} by {_long(width, own)}"
        case ev.CornerChosen(corner):
            return f"start corner {words(corner.value)}"
        case ev.LayChosen(axis):
            return f"carpet length {words(axis.value)}"
        case ev.PassBegun(which):
            return f"pass {which} begun"
    return ""


def _room(event: ev.Event) -> str:
    match event:
        case ev.WallSet(length, turn, own):
            return f"wall {_long(length, own)}, {_turn(turn)}"
        case ev.WallMended(wall, length, own):
            return f"wall {wall} measured again: {_long(length, own)}"
        case ev.OutlineClosed(off, own):
            return f"outline closed, {_long(off, own)} off"
        case ev.SecondSideSet(which, length, own):
            return f"{which.value} wall: {_long(length, own)}"
        case ev.DiagonalSet(length, own):
            return f"diagonal: {_long(length, own)}"
        case ev.SquareSettled(how):
            return {"square": "square, as said", "measured": "square: measured"}.get(how, "square: not checked")
        case ev.OpeningSet(given, own, side):
            return opening(given, own, side)
        case ev.OpeningsSettled(how):
            return "openings: not recorded" if how == "skipped" else "openings told"
    return ""


_TAILS = {
    "doorway": "tail in a doorway",
    "hearth": "tail on a hearth",
    "island": "tail on an island",
    "reflex": "tail past a corner",
}


def wall_name(pull: Pull, *, outlined: bool) -> str:
    """The wall a pull goes to: 'the far wall'; by its number where the room is told wall by wall: 'wall 5'."""
    return f"wall {pull.wall_number}" if outlined else f"the {pull.wall.value} wall"


def placing(pull: Pull) -> tuple[str, ...]:
    """What is out of the ordinary about where head and tail stand; nothing for a straight pull from a sound wall."""
    lean = f"leaning {number(pull.angle)} degrees" if pull.angle else ""
    return tuple(filter(None, (lean, _TAILS.get(pull.flag, ""))))


def opening(given: Opening, system: System, side: str) -> str:
    """'doorway in the far wall, 3 ft to 5 ft 8 in', 'hearth in wall 5, 3 ft to 8 ft, 1 ft 6 in deep'."""
    where = f"the {side} wall" if side else f"wall {given.wall}"
    deep = f", {tape(given.depth, system)} deep" if given.depth > ZERO else ""
    return f"{given.kind.value} in {where}, {tape(given.start, system)} to {tape(given.end, system)}{deep}"


def _turn(degrees: Fraction) -> str:
    side = "right" if degrees > 0 else "left"
    return f"turn {side}" if abs(degrees) == 90 else f"bear {side} {number(abs(degrees))} degrees"


def _carpet(event: ev.Event) -> str:
    match event:
        case ev.FigureSet(direction, given):
            return f"maker's figure, {direction.value}: {figure(given)}"
        case ev.PatternSet(direction, share):
            return f"on top, {direction.value}: {points(share)}"
        case ev.ConditionNoted(kind, said):
            return f"{name_of(kind)}: {quantity(said)}"
        case ev.ConditionWorded(kind, word):
            return f"{name_of(kind)}: {words(word)}"
        case ev.ConditionsSkipped(kinds):
            return f"not recorded: {', '.join(map(name_of, kinds))}"
    return ""


def _pulling(event: ev.Event, system: System) -> str:
    match event:
        case ev.HeadSet(distance):
            return f"head {_long(distance, system)} off the wall"
        case ev.ReadingTaken(moved, manner):
            return f"reading {_long(moved, system, manner)}"
        case ev.HoldTaken(moved, manner):
            return f"hold reading {_long(moved, system, manner)}"
        case ev.PullSkipped(reason):
            return f"skipped: {words(reason)}"
        case ev.PullReopened(which):
            return f"pull {which} again"
        case ev.NoteMade(kind):
            return f"note: {words(kind)}"
    return ""


def _talking(event: ev.Event, system: System) -> str:
    match event:
        case ev.Proposed(held, why):
            return f"asked back: {tell(held, system)} ({words(why)})"
        case ev.Offered(choices):
            return f"asked which: {', or '.join(each.text for each in choices)}"
        case ev.Chosen(which):
            return f"chosen: number {which}" if which else "chosen: neither"
        case ev.Missed(kind):
            return {"noinput": "nothing heard", "nomatch": "not understood"}.get(kind, kind)
        case ev.Refused(why):
            return f"refused: {words(why)}"
        case ev.VoiceChanged(how):
            return f"voice {how}"
        case ev.Unknown(kind, _):
            return f"unknown kind '{kind}', kept"
    return _BARE.get(type(event), "")
