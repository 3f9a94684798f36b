"""The room as it was measured, in rows of text."""

from assistant.core.caution import Caution
from assistant.core.length import tape
from assistant.core.outline import OutlineError
from assistant.core.room import IF_ALIKE, Room, Wall
from assistant.core.square import SquareError
from assistant.core.state import State
from assistant.core.traverse import misclosure
from assistant.record.telling import opening

Row = tuple[str, str]
"""What it is, and its figure: ('wall 5', '12 ft 6 in, faces the far wall')."""
_SQUARE = {"square": "said to be square, not measured", "skipped": "not checked", "": "not asked"}


def room_rows(state: State) -> tuple[Row, ...]:
    """Walls with their lengths, how the walls closed or how square they are, and the openings; empty without a room."""
    room = state.room
    if room is None:
        return ()
    shape = _outline(state, room) if room.outline is not None else _rectangle(state, room)
    return *shape, *_openings(state, room)


def room_cautions(state: State) -> tuple[Caution, ...]:
    """What was skipped of the room; what being out of square eats stands among the plan's cautions."""
    skipped = {"square": (state.squared, "not checked"), "openings": (state.openings_settled, "not recorded")}
    return tuple(
        Caution(about, f"{about}: {text}", "skipped by the installer")
        for about, (how, text) in skipped.items()
        if how == "skipped"
    )


def _outline(state: State, room: Room) -> list[Row]:
    outline = room.floor.outline
    rows = []
    for wall in range(1, outline.walls + 1):
        told = f"{tape(outline.length_of(wall), room.system)}, {outline.facing(wall).value} side"
        rows.append((f"wall {wall}", told))
    try:
        off = misclosure(state.legs or (), state.closure)
    except OutlineError:
        return rows
    return [*rows, ("misclosure", f"{off.told(room.system)}, spread over the walls")]


def _rectangle(state: State, room: Room) -> list[Row]:
    measured = ("right wall", room.right), ("far wall", room.far), ("diagonal", room.diagonal)
    rows = [(name, tape(length, room.system)) for name, length in measured if length is not None]
    return [*rows, ("square", square(room) if room.measured else _SQUARE.get(state.squared, "not checked"))]


def square(room: Room) -> str:
    """How square a room is, as far as its measured walls and diagonal tell."""
    try:
        off = room.squareness.off
    except SquareError:
        return "its sides and diagonal do not meet"
    fits = off < room.system.graduation
    if room.alike:
        told = f"a far corner is {tape(off, room.system)} off {IF_ALIKE}"
        return "the diagonal fits; not all walls measured, so it may not be square" if fits else told
    lean = "" if room.diagonal is not None else "; no diagonal, so how far it leans is not known"
    if fits:
        return f"measured sides agree{lean}" if lean else "square, as measured"
    return f"a far corner is {tape(off, room.system)} off{lean}"


def _openings(state: State, room: Room) -> list[Row]:
    if not room.openings:
        return [("openings", {"told": "none", "skipped": "not recorded"}.get(state.openings_settled, "not asked"))]
    sides = {1: Wall.LEFT, 2: Wall.FAR, 3: Wall.RIGHT, 4: Wall.DOOR} if room.outline is None else {}
    names = [(sides[each.wall].value if each.wall in sides else "", each) for each in room.openings]
    return [("opening", opening(each, room.system, side)) for side, each in names]
