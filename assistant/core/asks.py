"""State -> what is asked next."""

from dataclasses import dataclass
from itertools import chain

from assistant.core import advice
from assistant.core import events as ev
from assistant.core.band import Band
from assistant.core.length import ZERO, Length, System, system_of
from assistant.core.line import Line, line
from assistant.core.meaning import Candidate, Quantity
from assistant.core.order import Direction, Part
from assistant.core.plan import Pass, Pull
from assistant.core.reversal import now_short
from assistant.core.room import Axis
from assistant.core.spoken import digits, one_by_one, sounds_alike, whole_sounds_alike
from assistant.core.state import State
from assistant.core.tube_talk import call_change


@dataclass(frozen=True)
class Ask:
    """One question: who listens and what is said."""

    grammar: str
    """The grammar that hears the answer."""
    lines: tuple[Line, ...]
    """What is said and shown."""

    @property
    def shortest(self) -> Line:
        """The question itself: the last line that does not merely spell a figure."""
        return next(each for each in reversed(self.lines) if each.key != "digits")


def next_ask(state: State) -> Ask | None:
    """The present question; None once the job is finished."""
    if state.finished:
        return None
    return _aside(state) or _before_the_plan(state) or _at_a_pull(state) or Ask("close", _close(state))


def _close(state: State) -> tuple[Line, ...]:
    skipped = [str(number) for number, each in enumerate(state.records, start=1) if each.skipped]
    told = (line("pulls_skipped", count=len(skipped), numbers=", ".join(skipped)),) if skipped else ()
    return *told, *_now_short(now_short(state)), line("ask_close")


def _now_short(numbers: tuple[int, ...]) -> tuple[Line, ...]:
    """Before the job is closed: they can still be pulled again. What is over by now, or in band, is in the report."""
    if not numbers:
        return ()
    return (line("now_short", count=len(numbers), first=numbers[0], numbers=", ".join(map(str, numbers))),)


def _aside(state: State) -> Ask | None:
    if state.paused:
        return Ask("paused", (line("ask_paused"),))
    if state.offered:
        return _which(state.offered)
    if state.proposed is not None:
        return Ask("confirm", question(state.proposed, state.why, state.tape))
    if state.asking_reason:
        return Ask("skip", (line("ask_reason"),))
    return None


def _which(offered: tuple[Candidate, ...]) -> Ask:
    """Which of the sentences was said; where there is but one, was it?"""
    if len(offered) == 1:
        return Ask("confirm", (line("did_i_hear", sentence=offered[0].text), *_spelt(offered[0])))
    told = [(line(key, sentence=each.text), *_spelt(each)) for key, each in zip(PLACES, offered, strict=False)]
    return Ask("choose", (*chain(*told), line("which_one")))


PLACES = ("choice_first", "choice_second")
"""Messages of what is offered: no more, for two can be kept in mind, and the third key is for neither."""


def _spelt(candidate: Candidate) -> tuple[Line, ...]:
    """Its figures digit by digit where they sound like others."""
    return tuple(line("digits", digits=told) for told in map(_by_digits, candidate.meaning.quantities) if told)


def _by_digits(said: Quantity) -> str:
    if said.unit in ("in", "mm"):
        length, system = Length.of(said), system_of(said)
        return digits(length, system) if sounds_alike(length, system) else ""
    whole = said.value.denominator == 1
    return one_by_one(int(said.value)) if whole and whole_sounds_alike(int(said.value)) else ""


def _before_the_plan(state: State) -> Ask | None:
    if not state.job:
        return Ask("job", (line("ask_job"),))
    if state.construction is None:
        return Ask("construction", (line("ask_construction"),))
    for direction in (Direction.LENGTH, Direction.CROSS):
        if direction not in state.maker:
            return Ask("figure", (line(f"ask_figure_{direction.value}"),))
    if state.conditions_waiting:
        kind = state.conditions_waiting[0]
        return Ask(kind, (line(f"ask_{kind}"),))
    if state.room_waiting:
        return _of_the_room(state)
    if state.corner is None:
        return Ask("corner", (line("ask_corner"),))
    return Ask("lay", (line("ask_lay"),)) if state.plan is None else None


def _of_the_room(state: State) -> Ask:
    match state.room_waiting:
        case "wall":
            return Ask("wall", (line("ask_wall", number=len(state.legs or ()) + 1),))
        case "square":
            more = state.seconds or state.diagonal is not None
            return Ask("square", (line("ask_square_more" if more else "ask_square"),))
        case "openings":
            return Ask("openings", (line("ask_openings_more" if state.openings else "ask_openings"),))
    axis = next(each for each in Axis if each not in state.sides)
    return Ask("size", (line(f"ask_side_{axis.value}"),))


def _at_a_pull(state: State) -> Ask | None:
    pull, here = state.pull, state.present_pass
    if pull is None or here is None:
        return None
    if here.number > state.begun:
        return Ask("ready", _ready(here))
    if state.record.hold_due:
        return Ask("hold", (line("ask_hold", number=pull.number),))
    target = None if pull.band is None else advice.target(pull.band, state.own_loss, state.tape.graduation)
    turn = () if state.standing.turned == here.number else (line("turn"), _pass(here))
    return Ask("pull", (*turn, *_for_the_helper(state, pull), *call_out(pull, target)))


def _for_the_helper(state: State, pull: Pull) -> tuple[Line, ...]:
    """Which wall where there are several, which tubes to change, where the tail must not stand."""
    before = state.standing
    several = state.room is not None and state.room.outline is not None
    wall = (line("call_wall", number=pull.wall_number),) if several and before.wall != pull.wall_number else ()
    lean = (line("call_lean"),) if pull.angle else ()
    flag = (line(f"call_tail_{pull.flag}"),) if pull.flag else ()
    return *wall, *call_change(before.build, pull.build, state.tape), *lean, *flag


def _ready(here: Pass) -> tuple[Line, ...]:
    opening = line("caution_first") if here.number == 1 else line("turn")
    return opening, _pass(here), line("ask_ready")


def _pass(here: Pass) -> Line:
    count, wall = len(here.pulls), here.pulls[0].wall.value
    key = "pass_tie_off" if here.rule.part is Part.TIE_OFF else "pass_rest"
    return line(key, direction=here.rule.direction.value, count=count, wall=wall)


def call_out(pull: Pull, target: Length | None) -> tuple[Line, ...]:
    """The position for the helper; for the installer the least movement, or the working target where that is more."""
    position = line("call_position", position=pull.called_position)
    if pull.parts > 1:
        return position, line("call_pull_parts", number=pull.number, count=pull.parts), _each_part(pull.band, target)
    if pull.band is None or target is None:
        return position, line("call_pull_no_figure", number=pull.number)
    least = pull.band.tape_least
    if target > least:
        return position, line("call_pull_aim", number=pull.number, target=target, least=least)
    return position, line("call_pull", number=pull.number, least=least)


def _each_part(band: Band | None, target: Length | None) -> Line:
    """What one part should move: each is stretched by itself, and the reading is of one."""
    if band is None or target is None:
        return line("call_part_no_figure")
    if target > band.tape_least:
        return line("call_part_aim", target=target, least=band.tape_least)
    return line("call_part", least=band.tape_least)


def question(event: ev.Event, why: str, system: System) -> tuple[Line, ...]:
    """What is asked before `event` stands; `system` is the tape of figures that do not tell theirs."""
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
        case ev.PatternSet(points=points):
            return (line(why, points=points),)
        case ev.ReadingTaken(moved=moved) | ev.HoldTaken(moved=moved) if moved is not None:
            return line(why, moved=moved), *in_digits(system, moved)
        case ev.PullReopened(number=number):
            return (line(why, number=number),)
        case _:
            return _room_question(event, why)


def _room_question(event: ev.Event, why: str) -> tuple[Line, ...]:
    match event:
        case ev.OutlineClosed(off=off, system=system):
            return line(why, off=off), *in_digits(system, off), line("yes_or_no")
        case ev.SecondSideSet(length=length, system=system) | ev.DiagonalSet(length=length, system=system):
            doubted = (line("differs_much"),) if why.startswith("doubt") else ()
            return *doubted, line(why.replace("doubt", "confirm"), length=length), *in_digits(system, length)
        case ev.OpeningSet():
            return _opening(event)
        case _:
            return (line(why),)


def _opening(event: ev.OpeningSet) -> tuple[Line, ...]:
    opening, kind, system = event.opening, event.opening.kind.value, event.system
    called = line("opening_on_side", wall=event.side, kind=kind)
    if not event.side:
        called = line("opening_on_wall", number=opening.wall, kind=kind)
    deep = (line("opening_deep", depth=opening.depth),) if opening.depth > ZERO else ()
    places = line("opening_from", start=opening.start), line("opening_until", end=opening.end)
    digits = in_digits(system, opening.start, opening.end, *(each for each in (opening.depth,) if deep))
    return called, *places, *deep, line("yes_or_no"), *digits


def in_digits(system: System, *lengths: Length, always: bool = False) -> tuple[Line, ...]:
    """Lengths digit by digit: those that hold one of thirteen/thirty ... nineteen/ninety, or all of them."""
    told = (each for each in lengths if always or sounds_alike(each, system))
    return tuple(line("digits", digits=digits(each, system)) for each in told)
