"""One event in a few plain words, for the report."""

from fractions import Fraction

from assistant.core import events as ev
from assistant.core.band import Figure
from assistant.core.length import Length, System, tape
from assistant.core.meaning import Quantity

_BARE: dict[type, str] = {
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
_UNITS = {"in": "in", "mm": "mm", "pct": "%", "F": "°F", "C": "°C", "h": "h"}


def words(key: str) -> str:
    """A key as words: 'no_strip' -> 'no strip'."""
    return key.replace("_", " ")


def number(value: Fraction, places: int = 2) -> str:
    """A figure for the eye: '1.06', '45'."""
    return f"{float(value):.{places}f}".rstrip("0").rstrip(".") if places else str(round(value))


def quantity(value: Quantity | None) -> str:
    """A spoken figure with its unit; 'not recorded' where it was skipped."""
    return "not recorded" if value is None else f"{number(value.value)} {_UNITS.get(value.unit, value.unit)}"


def figure(value: Figure | None) -> str:
    """A figure in per cent: '1 to 1.5 %', 'at least 1 %', 'none'."""
    if value is None:
        return "none"
    least = number(value.least, 3)
    return f"at least {least} %" if value.most is None else f"{least} to {number(value.most, 3)} %"


def tell(event: ev.Event, system: System) -> str:
    """What an event did; '' for those that say nothing by themselves."""
    return _setting(event, system) or _pulling(event, system) or _talking(event, system)


def _long(length: Length | None, system: System, manner: str = "") -> str:
    return "skipped" if length is None else f"{tape(length, system)} {manner}".rstrip()


def _setting(event: ev.Event, system: System) -> str:
    match event:
        case ev.JobNamed(digits):
            return f"job {digits}"
        case ev.ConstructionChosen(construction):
            return f"carpet: {words(construction.value)}"
        case ev.FigureSet(direction, given):
            return f"maker's figure, {direction.value}: {figure(given)}"
        case ev.ConditionNoted(kind, noted):
            return f"{kind}: {quantity(noted)}"
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
        case ev.Missed(kind):
            return {"noinput": "nothing heard", "nomatch": "not understood"}.get(kind, kind)
        case ev.Refused(why):
            return f"refused: {words(why)}"
        case ev.VoiceChanged(how):
            return f"voice {how}"
        case ev.Unknown(kind, _):
            return f"unknown kind '{kind}', kept"
    return _BARE.get(type(event), "")
