"""The room as a picture is drawn of it: its corners, and every pull as done, now, skipped or to come."""

from dataclasses import dataclass

from assistant.core.floor import OpeningKind
from assistant.core.outline import Point
from assistant.core.record import Status
from assistant.core.state import State

Spot = tuple[float, float]
"""Inches from the left and from the door side of the room."""


@dataclass(frozen=True)
class PullMark:
    """One pull in the picture."""

    number: int
    head: Spot
    tail: Spot
    stands: str
    """'done', 'now', 'skipped' or 'to come'."""


@dataclass(frozen=True)
class RoomPicture:
    """The room seen from above, the door side at the bottom."""

    corners: tuple[Spot, ...]
    gaps: tuple[tuple[Spot, Spot], ...]
    """Doorways."""
    bare: tuple[tuple[Spot, ...], ...]
    """Hearths and islands."""
    pulls: tuple[PullMark, ...]
    """In their order; none before the plan."""


def picture_room(state: State) -> RoomPicture | None:
    """The room of a job; None before it has one."""
    room = state.room
    if room is None:
        return None
    floor = room.floor
    doorways = [each for each in floor.openings if each.kind is OpeningKind.DOORWAY]
    return RoomPicture(
        tuple(map(_spot, floor.outline.corners)),
        tuple((_spot(floor.place(e.wall, e.start)), _spot(floor.place(e.wall, e.end))) for e in doorways),
        tuple(tuple(map(_spot, area)) for area in (*map(floor.front, floor.hearths), *floor.islands)),
        _pulls(state),
    )


def _pulls(state: State) -> tuple[PullMark, ...]:
    if state.plan is None:
        return ()
    found = []
    for at, (pull, record) in enumerate(zip(state.plan.pulls, state.records, strict=True)):
        stands = "now" if at == state.at else _STANDS[record.status]
        found.append(PullMark(pull.number, _spot(pull.head_at), _spot(pull.tail_at), stands))
    return tuple(found)


_STANDS = {Status.TO_COME: "to come", Status.DONE: "done", Status.SKIPPED: "skipped"}


def _spot(point: Point) -> Spot:
    return float(point.x), float(point.y)
