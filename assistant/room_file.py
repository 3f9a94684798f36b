"""Reads a room file: everything a plan is made from, in one TOML file; docs/room-file.md shows the keys."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from pathlib import Path

from assistant.condition_table import read_conditions
from assistant.core import plausible
from assistant.core.band import Construction, Figure, figure_for
from assistant.core.compass import Axis, Corner
from assistant.core.conditions import Noted
from assistant.core.floor import FloorError, Opening, OpeningKind
from assistant.core.kit import Kit, KitError
from assistant.core.length import ZERO, Length, System, tape
from assistant.core.order import Direction, Order, OrderError
from assistant.core.outline import Leg, OutlineError, Point
from assistant.core.plan import Figures, Job
from assistant.core.room import Room
from assistant.core.square import SquareError
from assistant.core.traverse import Misclosure, close
from assistant.exits import Exit, Refusal
from assistant.kit_table import read_kit
from assistant.orders import ENDING, read_order
from assistant.settings import Settings
from assistant.typed import Table, read_table
from assistant.typed_size import read_figure, read_points, read_side
from assistant.units import read_length

_LENGTH = "a length such as '12 ft 3 5/8 in'"
_SQUARE = Fraction(90)


class Turning(Enum):
    """Which way the walk turns at the end of a wall."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True)
class RoomFile:
    """What a room file says."""

    job: Job
    misclosure: Misclosure | None = None
    """How far the outline failed to close, before it was spread over the walls; None for four plain sides."""
    conditions: Mapping[str, Noted] = field(default_factory=dict)
    """What it says of the day; a kind it leaves out is not looked at."""


def read_room_file(file: Path, settings: Settings) -> RoomFile:
    """The job of a room file; what it leaves out is as in the settings.

    Raises Refusal (BAD_SIZE) naming file, key or wall, value and what would be right.
    """
    table = read_table(file, Exit.BAD_SIZE, "a room file is TOML, as docs/room-file.md shows it")
    reader = _Reader(file, settings)
    try:
        return reader.read(table)
    except (OutlineError, FloorError) as error:
        raise Refusal(Exit.BAD_SIZE, f"{file}: {error.on_tape(reader.system)}") from error
    except (SquareError, KitError, OrderError) as error:
        raise Refusal(Exit.BAD_SIZE, f"{file}: {error}") from error


class _Reader:
    def __init__(self, file: Path, settings: Settings) -> None:
        self._file, self._settings = file, settings
        self._system: System | None = None

    @property
    def system(self) -> System:
        """The tape of the first length."""
        return self._system or System.IMPERIAL

    def read(self, table: Table) -> RoomFile:
        room, misclosure = self._room(table.table("room"))
        job = Job(
            room,
            table.choice("corner", Corner, Corner.DOOR_LEFT),
            table.choice("lay", Axis, Axis.DOOR_TO_FAR),
            _figures(table.table("carpet")),
            self._order(table),
            self._settings.head,
            self._kit(table),
            self._settings.distance,
        )
        conditions = read_conditions(table.table("conditions"))
        table.done()
        return RoomFile(job, misclosure, conditions)

    def _room(self, table: Table) -> tuple[Room, Misclosure | None]:
        openings = list(table.tables("opening"))
        islands = list(table.tables("island"))
        walls = list(table.tables("wall"))
        room, misclosure = self._outlined(walls) if walls else (self._four_walls(table), None)
        table.done()
        return self._with(room, openings, islands), misclosure

    def _four_walls(self, table: Table) -> Room:
        length, width = self._side(table, "length"), self._side(table, "width")
        if length is None or width is None or self._system is None:
            missing = "length" if length is None else "width"
            raise table.wrong(missing, "give length and width, or every wall as [[room.wall]]")
        right, far, diagonal = (self._side(table, key) for key in ("right", "far", "diagonal"))
        for key, one, other in (("right", length, right), ("far", width, far)):
            if other is not None and plausible.unlike(other, one):
                raise table.wrong(key, f"too unlike {tape(one, self._system)} across; give such a room wall by wall")
        room = Room(length, width, self._system, right, far, diagonal)
        assert room.squareness  # raises SquareError where the sides do not meet
        return room

    def _side(self, table: Table, key: str) -> Length | None:
        found = table.read(key, lambda text: read_side(text, self._system), _LENGTH)
        return None if found is None else self._noted(found)

    def _length(self, table: Table, key: str) -> Length:
        found = table.read(key, read_length, _LENGTH)
        if found is None:
            raise table.wrong(key, f"must be {_LENGTH}")
        if self._system is not None and found[1] is not self._system:
            raise table.wrong(key, "feet or metres? Use one tape for the whole room")
        return self._noted(found)

    def _noted(self, found: tuple[Length, System]) -> Length:
        self._system = found[1]
        return found[0]

    def _outlined(self, walls: list[Table]) -> tuple[Room, Misclosure]:
        outline, misclosure = close([self._leg(each) for each in walls], self._settings.closure)
        assert self._system is not None  # a wall has a length
        length, width = outline.extent(Axis.DOOR_TO_FAR), outline.extent(Axis.LEFT_TO_RIGHT)
        return Room(length, width, self._system, outline=outline), misclosure

    def _leg(self, table: Table) -> Leg:
        """Key 'turn' says which way at the wall's end, 'angle' by how much where it is not square."""
        length = self._length(table, "length")
        turn = table.choice("turn", Turning, Turning.RIGHT)
        degrees = table.number("angle", "degrees", _SQUARE)
        if not 0 < degrees < 2 * _SQUARE:
            raise table.wrong("angle", "must be degrees, over 0 and under 180; 'turn' says which way")
        table.done()
        return Leg(length, degrees if turn is Turning.RIGHT else -degrees)

    def _with(self, room: Room, openings: list[Table], islands: list[Table]) -> Room:
        whole = Room(
            room.length,
            room.width,
            room.system,
            room.right,
            room.far,
            room.diagonal,
            room.outline,
            tuple(map(self._opening, openings)),
            tuple(map(self._island, islands)),
        )
        assert whole.floor  # raises FloorError for an opening or an island that cannot be
        return whole

    def _opening(self, table: Table) -> Opening:
        kind = table.choice("kind", OpeningKind, OpeningKind.DOORWAY)
        wall = table.need("wall", int, "a wall's number: 1 left of the door, then clockwise")
        start = ZERO if not table.has("from") else self._length(table, "from")
        end = self._length(table, "to")
        depth = self._length(table, "depth") if kind is OpeningKind.HEARTH else ZERO
        table.done()
        return Opening(kind, wall, start, end, depth)

    def _island(self, table: Table) -> tuple[Point, ...]:
        """Corners as pairs: to the right from the first corner of wall 1, and away from the door."""
        corners = table.need("corners", list, "a list of pairs such as ['3 ft', '4 ft']")
        table.done()
        return tuple(self._corner(table, each) for each in corners)

    def _corner(self, table: Table, pair: object) -> Point:
        if not isinstance(pair, list) or len(pair) != 2 or not all(isinstance(each, str) for each in pair):
            raise table.wrong("corners", "must be pairs such as ['3 ft', '4 ft']: to the right, and away from the door")
        try:
            (x, _), (y, _) = (read_length(each) for each in pair)
        except Refusal as refusal:
            raise table.wrong("corners", f"must be pairs of lengths: {refusal.line}") from None
        return Point(x.inches, y.inches)

    def _order(self, table: Table) -> Order:
        name = table.get("order", str, "the name of an order, or the path of your own")
        if name is None:
            return self._settings.read_order()
        return read_order(str(self._file.parent / name) if name.endswith(ENDING) else name)

    def _kit(self, table: Table) -> Kit | None:
        values = table.get("kit", dict, "a table")
        return self._settings.kit if values is None else read_kit(values)


def _figures(table: Table) -> Figures:
    construction = table.choice("construction", Construction, Construction.TUFTED_SYNTHETIC)
    keys = {Direction.LENGTH: "length", Direction.CROSS: "width"}
    found = {each: _figure(table, construction, key) for each, key in keys.items()}
    table.done()
    return Figures(found)


def _figure(table: Table, construction: Construction, key: str) -> Figure | None:
    maker = table.read(f"figure_{key}", read_figure, "per cent, '1' or '1-1.5'")
    points = table.read(f"pattern_{key}", read_points, "percentage points on top, '0.25'")
    return figure_for(construction, maker, points or Fraction(0))
