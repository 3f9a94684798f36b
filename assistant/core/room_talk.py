"""Answers about the room: its outline wall by wall, and whether a rectangle is square."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from assistant.core import events as ev
from assistant.core import plausible
from assistant.core.asks import in_digits
from assistant.core.fold import apply
from assistant.core.length import ZERO, Length, system_of
from assistant.core.line import Line, line
from assistant.core.meaning import Meaning
from assistant.core.outline import Leg, OutlineError
from assistant.core.room import Axis, Room, Wall
from assistant.core.spoken import one_by_one, whole_sounds_alike
from assistant.core.square import SquareError
from assistant.core.state import State
from assistant.core.traverse import close, misclosure
from assistant.core.turn import Turn, propose, refuse

SQUARE_TURN, HALF_TURN = 90, 180
_OPEN = {"does_not_close", "does_not_close_anywhere"}
_UNSOUND = {
    "crosses_itself": "walls_cross",
    "touches_itself": "walls_touch",
    "turns_swapped": "check_turn",
    "turn_flipped": "check_turn",
    "walked_backwards": "walked_backwards",
    "too_few_walls": "too_few_walls",
}
"""What is said where no one wall's length is to blame."""


def begin(state: State, said: Meaning) -> Turn:
    """The room is no rectangle: it is told wall by wall. A side that stands already is not dropped without a yes."""
    if state.sides:
        return propose(ev.OutlineBegun(), "confirm_outline")
    return Turn((ev.OutlineBegun(),), (line("outline_begun"),))


def wall(state: State, said: Meaning) -> Turn:
    """The next wall and the turn at its end: read back; the closing is proposed as soon as the walls close."""
    legs, length = state.legs or (), said.quantities[0]
    degrees = said.quantities[1].value if len(said.quantities) > 1 else Fraction(SQUARE_TURN)
    doubt = plausible.wall(length, state.system)
    if doubt is not None:
        return refused(doubt.why, line(doubt.why))
    if not 0 < degrees < HALF_TURN:
        why = "wall_without_turn" if not degrees else "wall_doubles_back"
        return refused(why, line(why, number=len(legs) + 1))
    event = ev.WallSet(Length.of(length), degrees if said.word == "right" else -degrees, system_of(length))
    after = apply(state, event)
    proposed, faults = _closing(after)
    told = _heard(event, said.word) if degrees == SQUARE_TURN else _bearing(event, said.word, degrees)
    # Walls that are still under way do not close yet: only what can no longer come right is told at once.
    unsound = tuple(each for each in faults if each.key in ("walls_cross", "walls_touch"))
    return Turn((event, *proposed), (*told, *unsound))


def _heard(event: ev.WallSet, side: str) -> tuple[Line, ...]:
    return line("wall_heard", length=event.length, way=side), *in_digits(event.system, event.length)


def _bearing(event: ev.WallSet, side: str, degrees: Fraction) -> tuple[Line, ...]:
    whole = int(degrees)
    digits = (line("digits", digits=one_by_one(whole)),) if whole_sounds_alike(whole) else ()
    told = line("wall_length", length=event.length), *in_digits(event.system, event.length)
    return *told, line("wall_bears", way=side, degrees=whole), *digits


def rewall(state: State, said: Meaning) -> Turn:
    """A wall measured again: read back, and the closing is tried again."""
    number, length = int(said.quantities[0].value), said.quantities[1]
    legs = state.legs or ()
    if not 1 <= number <= len(legs):
        return refused("walls_so_far", line("walls_so_far", count=len(legs)))
    doubt = plausible.wall(length, state.system)
    if doubt is not None:
        return refused(doubt.why, line(doubt.why))
    event = ev.WallMended(number, Length.of(length), system_of(length))
    proposed, faults = _closing(apply(state, event))
    told = line("wall_mended", which=number, length=event.length), *in_digits(event.system, event.length)
    all_told = sum(leg.turn for leg in legs) == 2 * HALF_TURN
    return Turn((event, *proposed), (*told, *(faults if all_told else ())))


def close_room(state: State, said: Meaning) -> Turn:
    """All walls are said: the closing is proposed, or refused with the misclosure and the wall most likely wrong."""
    proposed, faults = _closing(state)
    return Turn(proposed) if proposed else refused("does_not_close", *faults)


def _closing(state: State) -> tuple[tuple[ev.Event, ...], tuple[Line, ...]]:
    """The closing to be proposed; where there is none, what is wrong."""
    legs = state.legs or ()
    try:
        outline, off = close(legs, state.closure)
    except OutlineError as error:
        return (), _faults(state, legs, error)
    for axis in Axis:
        doubt = plausible.extent(outline.extent(axis))
        if doubt is not None:
            return (), (line(doubt.why),)
    why = "closes_within" if off.distance > ZERO else "closes_exactly"
    return (ev.Proposed(ev.OutlineClosed(off.off(state.tape), state.tape), why),), ()


def _faults(state: State, legs: Sequence[Leg], error: OutlineError) -> tuple[Line, ...]:
    if error.why in _OPEN:
        off = misclosure(legs, state.closure).off(state.tape)
        return line("outline_open", off=off), line("check_wall", number=error.wall or 0)
    key = _UNSOUND.get(error.why, "check_turns")
    return (line(key) if error.wall is None else line(key, number=error.wall),)


def refused(why: str, *lines: Line) -> Turn:
    """It cannot be: say what would be right, ask again."""
    return Turn((ev.Refused(why),), lines, ask_again=True)


# Is a rectangle square?


def second_side(state: State, said: Meaning) -> Turn:
    """The right or the far wall; needs an explicit yes."""
    room, quantity, which = state.room, said.quantities[0], Wall(said.word)
    if room is None:
        return Turn()
    length = Length.of(quantity)
    doubt = plausible.side(length, quantity, state.system)
    if doubt is not None:
        return refuse(doubt.why)
    axis = Axis.DOOR_TO_FAR if which is Wall.RIGHT else Axis.LEFT_TO_RIGHT
    after = replace(room, right=length) if which is Wall.RIGHT else replace(room, far=length)
    if not _meets(after):
        return refuse("sides_impossible")
    how = "doubt" if plausible.unlike(length, room.span(axis)) else "confirm"
    return propose(ev.SecondSideSet(which, length, system_of(quantity)), f"{how}_{which.value}_wall")


def diagonal(state: State, said: Meaning) -> Turn:
    """From the door's left corner to the far right one; needs an explicit yes."""
    room, quantity = state.room, said.quantities[0]
    if room is None:
        return Turn()
    length, square = Length.of(quantity), room.square_diagonal
    doubt = plausible.stretch(quantity, state.system)
    if doubt is not None:
        return refuse(doubt.why)
    if length <= ZERO or not _meets(replace(room, diagonal=length)):
        return refused("diagonal_impossible", line("diagonal_impossible"), line("square_would_be", square=square))
    how = "doubt" if plausible.unlike(length, square) else "confirm"
    return propose(ev.DiagonalSet(length, system_of(quantity)), f"{how}_diagonal")


def _meets(room: Room) -> bool:
    try:
        return room.squareness is not None
    except SquareError:
        return False


def _measured(state: State) -> bool:
    return state.room is not None and state.room.measured


def square(state: State, said: Meaning) -> Turn:
    """Said to be square: taken as said, where nothing was measured that tells otherwise."""
    if _measured(state):
        return square_done(state)
    return Turn((ev.SquareSettled("square"),), (line("square_taken"),))


def square_done(state: State, said: Meaning | None = None) -> Turn:
    """Enough measured: how far it is off, and what that eats of the trim allowance."""
    room = state.room
    if room is None or not room.measured:
        return refuse("nothing_measured")
    found = room.squareness
    if found.off < room.system.graduation:
        agreed = "sides_agree" if room.diagonal is None else "diagonal_fits" if room.alike else "square_found"
        return Turn((ev.SquareSettled("measured"),), (line(agreed),))
    told = [line("out_of_square", off=found.off), *((line("if_alike"),) if room.alike else ())]
    for axis in Axis:
        eaten = found.told(axis, room.system)
        told += [line(f"trim_eaten_{axis.value}", eaten=eaten)] if eaten > ZERO else []
    cautions = (line("plan_caution", text=each.text, source=each.source) for each in room.cautions)
    return Turn((ev.SquareSettled("measured"),), (*told, *cautions))


def openings_done(state: State, said: Meaning | None = None) -> Turn:
    """No more openings."""
    return Turn((ev.OpeningsSettled("told"),), (line("openings_told", count=len(state.openings)),))


def skip(state: State) -> Turn:
    """What is asked of the room is left out: logged as not checked, or not recorded; what was told before it stands."""
    if state.room_waiting == "square":
        return (
            square_done(state) if _measured(state) else Turn((ev.SquareSettled("skipped"),), (line("square_skipped"),))
        )
    if state.openings:
        return openings_done(state)
    return Turn((ev.OpeningsSettled("skipped"),), (line("openings_skipped"),))
