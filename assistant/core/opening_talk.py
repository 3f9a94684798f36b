"""Answers about openings: doorways and hearths, stretches of wall without strip."""

from assistant.core import events as ev
from assistant.core import plausible
from assistant.core.floor import Floor, FloorError, Opening, OpeningKind
from assistant.core.length import ZERO, Length, system_of
from assistant.core.line import Line, line
from assistant.core.meaning import Meaning
from assistant.core.room import Room, Wall
from assistant.core.room_talk import refused
from assistant.core.state import State
from assistant.core.turn import Turn, propose, refuse


def doorway(state: State, said: Meaning) -> Turn:
    """From its left end to its right end, as one faces the wall; needs an explicit yes."""
    return _opening(state, said, OpeningKind.DOORWAY)


def hearth(state: State, said: Meaning) -> Turn:
    """Likewise, and how far it stands out into the room."""
    return _opening(state, said, OpeningKind.HEARTH)


def _opening(state: State, said: Meaning, kind: OpeningKind) -> Turn:
    room = state.room
    if room is None:
        return Turn()
    found = [int(each.value) for each in said.quantities if each.unit == "n"] or _facing(room, Wall(said.word))
    if len(found) != 1:
        why = "which_wall" if found else "no_such_wall"
        return refused(why, line(why, wall=said.word))
    tape = [each for each in said.quantities if each.unit != "n"]
    for each in tape:
        doubt = plausible.stretch(each, state.system)
        if doubt is not None:
            return refuse(doubt.why)
    start, end, *rest = (Length.of(each) for each in tape)
    opening = Opening(kind, found[0], start, end, rest[0] if rest else ZERO)
    faults = _faults(room, opening)
    if faults:
        return refused(faults[0].key, *faults)
    return propose(ev.OpeningSet(opening, system_of(tape[0]), said.word), "confirm_opening")


def _facing(room: Room, wall: Wall) -> list[int]:
    """The numbers of the walls of that name; left 1, far 2, right 3, door 4 in a rectangle."""
    outline = room.floor.outline
    return [number for number in range(1, outline.walls + 1) if outline.facing(number) is wall]


def _faults(room: Room, opening: Opening) -> tuple[Line, ...]:
    """What is wrong with the opening and what would be right; nothing where it can be."""
    try:
        Floor(room.floor.outline, (*room.openings, opening), room.islands)
    except FloorError as error:
        return _told(room, opening, error)
    return ()


def _told(room: Room, opening: Opening, error: FloorError) -> tuple[Line, ...]:
    outline = room.floor.outline
    match error.why:
        case "no_wall":
            return (line("walls_are", count=outline.walls),)
        case "beyond_wall":
            return (line("wall_ends_at", length=outline.length_of(opening.wall)),)
        case "overlapping":
            here = (each for each in room.openings if each.wall == opening.wall)
            other = next(each for each in here if each.start < opening.end and opening.start < each.end)
            return (
                line("opening_overlaps"),
                line("opening_from", start=other.start),
                line("opening_until", end=other.end),
            )
        case "empty_opening":
            return (line("opening_reversed"),)
        case "no_depth":
            return (line("hearth_flat"),)
        case "too_deep":
            return (line("hearth_too_deep"),)
    return (line("hearths_meet"),)
