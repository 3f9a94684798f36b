"""State -> what is asked next."""

from dataclasses import dataclass

from assistant.core import advice, conditions
from assistant.core import events as ev
from assistant.core.length import Length, System
from assistant.core.line import Line, line
from assistant.core.order import Direction, Part
from assistant.core.plan import Pass, Pull
from assistant.core.room import Axis
from assistant.core.spoken import digits, sounds_alike
from assistant.core.state import State


@dataclass(frozen=True)
class Ask:
    """One question: who listens and what is said."""

    grammar: str
    """The grammar that hears the answer."""
    lines: tuple[Line, ...]
    """What is said and shown."""


def next_ask(state: State) -> Ask | None:
    """The present question; None once the job is finished."""
    if state.finished:
        return None
    return _aside(state) or _before_the_plan(state) or _at_a_pull(state) or Ask("close", _close(state))


def _close(state: State) -> tuple[Line, ...]:
    skipped = [str(number) for number, each in enumerate(state.records, start=1) if each.skipped]
    told = (line("pulls_skipped", count=len(skipped), numbers=", ".join(skipped)),) if skipped else ()
    return *told, line("ask_close")


def _aside(state: State) -> Ask | None:
    if state.paused:
        return Ask("paused", (line("ask_paused"),))
    if state.proposed is not None:
        return Ask("confirm", question(state.proposed, state.why))
    if state.asking_reason:
        return Ask("skip", (line("ask_reason"),))
    return None


def _before_the_plan(state: State) -> Ask | None:
    if not state.job:
        return Ask("job", (line("ask_job"),))
    if state.construction is None:
        return Ask("construction", (line("ask_construction"),))
    for direction in (Direction.LENGTH, Direction.CROSS):
        if direction not in state.maker:
            return Ask("figure", (line(f"ask_figure_{direction.value}"),))
    for kind in conditions.KINDS:
        if kind not in state.conditions:
            return Ask(kind, (line(f"ask_{kind}"),))
    for axis in Axis:
        if axis not in state.sides:
            return Ask("size", (line(f"ask_side_{axis.value}"),))
    if state.corner is None:
        return Ask("corner", (line("ask_corner"),))
    return Ask("lay", (line("ask_lay"),)) if state.plan is None else None


def _at_a_pull(state: State) -> Ask | None:
    pull, here = state.pull, state.present_pass
    if pull is None or here is None:
        return None
    if here.number > state.begun:
        return Ask("ready", _ready(here))
    if state.record.hold_due:
        return Ask("hold", (line("ask_hold", number=pull.number),))
    target = None if pull.band is None else advice.target(pull.band, state.loss, state.tape.graduation)
    return Ask("pull", call_out(pull, target))


def _ready(here: Pass) -> tuple[Line, ...]:
    count, wall = len(here.pulls), here.pulls[0].wall.value
    key = "pass_tie_off" if here.rule.part is Part.TIE_OFF else "pass_rest"
    opening = (line("caution_first"),) if here.number == 1 else (line("turn"),)
    return (*opening, line(key, direction=here.rule.direction.value, count=count, wall=wall), line("ask_ready"))


def call_out(pull: Pull, target: Length | None) -> tuple[Line, ...]:
    """The position for the helper; for the installer the least movement, or the working target where that is more."""
    position = line("call_position", position=pull.called_position)
    if pull.band is None or target is None:
        return position, line("call_pull_no_figure", number=pull.number)
    least = pull.band.tape_least
    if target > least:
        return position, line("call_pull_aim", number=pull.number, target=target, least=least)
    return position, line("call_pull", number=pull.number, least=least)


def question(event: ev.Event, why: str) -> tuple[Line, ...]:
    """What is asked before `event` stands."""
    match event:
        case ev.SideSet(length=length, system=system):
            return line(why, length=length), *in_digits(system, length)
        case ev.SidesSet(length=length, width=width, system=system):
            told = (("length", length), ("width", width))
            sides = [(line(f"{why}_{name}", side=side), *in_digits(system, side)) for name, side in told]
            return *sides[0], *sides[1]
        case ev.FigureSet(figure=figure) if figure is not None:
            if figure.most is None:
                return (line(why + "_least", least=figure.least),)
            return (line(why, least=figure.least, most=figure.most),)
        case ev.ReadingTaken(moved=moved) | ev.HoldTaken(moved=moved) if moved is not None:
            return (line(why, moved=moved),)
        case ev.PullReopened(number=number):
            return (line(why, number=number),)
        case _:
            return (line(why),)


def in_digits(system: System, *lengths: Length, always: bool = False) -> tuple[Line, ...]:
    """Lengths digit by digit: those that hold one of thirteen/thirty ... nineteen/ninety, or all of them."""
    told = (each for each in lengths if always or sounds_alike(each, system))
    return tuple(line("digits", digits=digits(each, system)) for each in told)
