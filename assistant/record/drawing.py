"""Geometry of a plan's drawing, in drawing units; the templates only place what stands here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import hypot

from assistant.core import outline
from assistant.core.compass import Axis, Corner, Wall
from assistant.core.floor import Floor, Opening, OpeningKind
from assistant.core.plan import Plan, Pull

MARGIN = 96.0
"""Around the room, for marks, numbers and wall names."""
_MARGIN_FREE = 50.0
"""On a side without pulls."""
LONGEST = 560.0
"""The room's longer side, where that leaves the marks apart."""
_ARROW = 62.0
_CLEAR = 5.0
_HEAD = (13.0, 7.0)
"""Length and half width of an arrow's head."""
_SHORTEST = 20.0
"""A shorter arrow gets a smaller head."""
_LABEL = 24.0
"""Labels stand at least so far apart."""
_MARK_OUT, _NUMBER_OUT, _NAME_OUT, _NAME_OUT_FREE = 22.0, 48.0, 84.0, 28.0

TOUCH = 53.0
"""24 px of a room's drawing on a telephone 380 px wide (WCAG 2.2, 2.5.8)."""

Point = tuple[float, float]


@dataclass(frozen=True)
class Arrow:
    """One pull in the plan."""

    number: int
    mark: str
    """What became of it, as the report's legend calls it; '' = nothing yet."""
    tail: Point
    head: tuple[Point, Point, Point]
    """The arrow's head; its first point lies at the wall the pull goes to."""
    mark_at: Point
    number_at: Point
    """Beyond the mark; in its place where there is none."""


@dataclass(frozen=True)
class WallName:
    """The name of a wall beside it."""

    text: str
    at: Point
    turned: int
    """Degrees."""


@dataclass(frozen=True)
class PlanDrawing:
    """The room with all pulls, seen from above, the door side at the bottom."""

    frame: tuple[float, float, float, float]
    """Left, top, width, height of all that is drawn."""
    room: tuple[float, float, float, float]
    """Left, top, width, height of the box around the room."""
    scale: float
    """Drawing units to the inch, along both sides."""
    floor: tuple[Point, ...]
    """Corners of the room."""
    gaps: tuple[tuple[Point, Point], ...]
    """Doorways: stretches of wall without strip."""
    bare: tuple[tuple[Point, ...], ...]
    """Hearths and islands: areas without carpet."""
    start: Point
    """The start corner."""
    arrows: tuple[Arrow, ...]
    names: tuple[WallName, ...]

    @cached_property
    def touch(self) -> float:
        """How wide a mark is to the finger: as far as the nearest two are apart, at most TOUCH."""
        marks = [each.mark_at for each in self.arrows]
        return round(min([hypot(x - u, y - v) for (x, y), (u, v) in combinations(marks, 2)] + [TOUCH]), 2)


@dataclass(frozen=True)
class _Sheet:
    """From room coordinates, inches, to the drawing."""

    left: float
    far: float
    scale: float

    def at(self, point: outline.Point) -> Point:
        return MARGIN + (float(point.x) - self.left) * self.scale, MARGIN + (self.far - float(point.y)) * self.scale


def draw_plan(plan: Plan, marks: Mapping[int, str]) -> PlanDrawing:
    """The plan to scale; `marks` says what became of each pull, by number."""
    room, floor = plan.job.room, plan.job.room.floor
    corners = floor.outline.corners
    scale = _scale(float(max(room.length, room.width).inches))
    sheet = _Sheet(float(min(each.x for each in corners)), float(max(each.y for each in corners)), scale)
    size = (float(room.width.inches) * scale, float(room.length.inches) * scale)
    busy = {each.wall for each in plan.pulls}
    bare = (*map(floor.front, floor.hearths), *floor.islands)
    near = min((float(each.position.inches) * scale for each in plan.pulls), default=_ARROW)
    labels: list[Point] = []
    arrows = tuple(_arrow(each, marks.get(each.number, ""), sheet, plan.pulls, near, labels) for each in plan.pulls)
    return PlanDrawing(
        _frame(busy, size),
        (MARGIN, MARGIN, round(size[0], 2), round(size[1], 2)),
        scale,
        tuple(_rounded(sheet.at(each)) for each in corners),
        tuple(_gap(each, floor, sheet) for each in floor.openings if each.kind is OpeningKind.DOORWAY),
        tuple(tuple(_rounded(sheet.at(each)) for each in area) for area in bare),
        _rounded(_start(corners, plan.job.corner, sheet)),
        arrows,
        _names(plan, sheet, labels, shown=bool(marks)),
    )


def _scale(longest: float) -> float:
    """Drawing units to the inch: large rooms are drawn larger, so that neighbours 18 in apart do not touch."""
    return max(LONGEST / longest, min(2.6, 1000 / longest), 1.45)


def _frame(busy: set[Wall], size: Point) -> tuple[float, float, float, float]:
    spare = {wall: 0.0 if wall in busy else MARGIN - _MARGIN_FREE for wall in Wall}
    width = size[0] + 2 * MARGIN - spare[Wall.LEFT] - spare[Wall.RIGHT]
    height = size[1] + 2 * MARGIN - spare[Wall.FAR] - spare[Wall.DOOR]
    return spare[Wall.LEFT], spare[Wall.FAR], round(width, 2), round(height, 2)


def _gap(opening: Opening, floor: Floor, sheet: _Sheet) -> tuple[Point, Point]:
    start, end = (floor.place(opening.wall, each) for each in (opening.start, opening.end))
    return _rounded(sheet.at(start)), _rounded(sheet.at(end))


def _start(corners: Sequence[outline.Point], corner: Corner, sheet: _Sheet) -> Point:
    """The room's corner nearest to the start corner of the box around it."""
    walls = corner.walls
    x = (min if walls[Axis.LEFT_TO_RIGHT] is Wall.LEFT else max)(each.x for each in corners)
    y = (min if walls[Axis.DOOR_TO_FAR] is Wall.DOOR else max)(each.y for each in corners)
    return sheet.at(min(corners, key=lambda each: (each.x - x) ** 2 + (each.y - y) ** 2))


def _arrow(pull: Pull, mark: str, sheet: _Sheet, pulls: Sequence[Pull], near: float, labels: list[Point]) -> Arrow:
    at = sheet.at(pull.head_at)
    inward = _towards(at, sheet.at(pull.tail_at))
    reach = _reach(pull, at, pulls, sheet, near)
    out, aside = (-inward[0], -inward[1]), (inward[1], inward[0])
    smaller = min(1.0, reach / _SHORTEST)
    base, half = _from(at, inward, (_CLEAR + _HEAD[0]) * smaller), _HEAD[1] * smaller
    head = (_from(at, inward, _CLEAR * smaller), _from(base, aside, half), _from(base, aside, -half))
    mark_at, number_at = _labels(at, out, aside, labels, marked=bool(mark))
    labels += {mark_at, number_at}
    return Arrow(pull.number, mark, _from(at, inward, reach), head, mark_at, number_at)


def _labels(at: Point, out: Point, aside: Point, taken: Sequence[Point], *, marked: bool) -> tuple[Point, Point]:
    """Where mark and number stand: straight out, or next to it where a wall that juts in has its own labels there."""
    steps = ((shift * _LABEL, further * _LABEL) for further in range(9) for shift in (0, 1, -1, 2, -2))
    for shift, further in steps:
        base = _from(at, aside, shift)
        found = (
            _from(base, out, _MARK_OUT + further),
            _from(base, out, (_NUMBER_OUT if marked else _MARK_OUT) + further),
        )
        if not any(_taken(each, taken) for each in found):
            break
    return found


def _taken(at: Point, taken: Sequence[Point]) -> bool:
    return any(_touch(at, each) for each in taken)


def _touch(one: Point, two: Point) -> bool:
    return max(abs(one[0] - two[0]), abs(one[1] - two[1])) < _LABEL


def _reach(pull: Pull, at: Point, pulls: Sequence[Pull], sheet: _Sheet, near: float) -> float:
    """Length of an arrow: shorter next to a corner where it would cross one of another wall."""
    room = _ARROW + _HEAD[1]
    others = (sheet.at(each.head_at) for each in pulls if each.axis is not pull.axis)
    crossed = any(abs(x - at[0]) < room and abs(y - at[1]) < room for x, y in others)
    smaller = min(1.0, near / (_SHORTEST + _HEAD[1] + 1))
    return min(_ARROW, max(_SHORTEST * smaller, near - (_HEAD[1] + 3) * smaller)) if crossed else _ARROW


def _names(plan: Plan, sheet: _Sheet, labels: list[Point], *, shown: bool) -> tuple[WallName, ...]:
    """Wall names, further out where marks and numbers stand: the side's in a rectangle, else the wall's number."""
    floor, busy = plan.job.room.floor.outline, {each.wall_number for each in plan.pulls}
    found = []
    for wall in range(1, floor.walls + 1):
        start, finish = map(sheet.at, floor.ends(wall))
        along = _towards(start, finish)
        middle = ((start[0] + finish[0]) / 2, (start[1] + finish[1]) / 2)
        # Walked clockwise the room lies on the right hand; on the sheet y grows downwards.
        out = (along[1], -along[0])
        away = (_NAME_OUT if shown else _NUMBER_OUT) if wall in busy else _NAME_OUT_FREE
        at = next(spot for step in range(99) if not _taken(spot := _from(middle, out, away + step * _LABEL), labels))
        labels.append(at)
        turned = {Wall.LEFT: -90, Wall.RIGHT: 90}.get(floor.facing(wall), 0)
        name = f"{floor.facing(wall).value} wall" if plan.job.room.outline is None else f"wall {wall}"
        found.append(WallName(name, at, turned))
    return tuple(found)


def _towards(one: Point, two: Point) -> Point:
    away = (two[0] - one[0], two[1] - one[1])
    length = hypot(*away)
    return away[0] / length, away[1] / length


def _from(at: Point, towards: Point, distance: float) -> Point:
    return _rounded((at[0] + towards[0] * distance, at[1] + towards[1] * distance))


def _rounded(at: Point) -> Point:
    return round(at[0], 2), round(at[1], 2)
