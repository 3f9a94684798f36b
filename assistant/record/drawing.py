"""Geometry of the report's drawings, in drawing units; the templates only place what stands here."""

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.core.band import percent
from assistant.core.length import Length
from assistant.core.plan import Pull
from assistant.core.room import Axis, Corner, Wall
from assistant.record.summary import JobSummary, PullSummary

MARGIN = 96.0
"""Around the room, for marks, numbers and wall names."""
_MARGIN_FREE = 50.0
"""Beside a wall without pulls."""
LONGEST = 560.0
"""The room's longer side, where that leaves the marks apart."""
_ARROW = 62.0
_CLEAR = 5.0
_HEAD = (13.0, 7.0)
"""Length and half width of an arrow's head."""
_SHORTEST = 20.0
"""A shorter arrow gets a smaller head."""
_MARK_OUT, _NUMBER_OUT, _NAME_OUT, _NAME_OUT_FREE = 22.0, 48.0, 84.0, 28.0
CHART_WIDTH = 220.0

Point = tuple[float, float]

_INWARD: dict[Wall, Point] = {Wall.DOOR: (0, -1), Wall.FAR: (0, 1), Wall.LEFT: (1, 0), Wall.RIGHT: (-1, 0)}


@dataclass(frozen=True)
class Arrow:
    """One pull in the plan."""

    number: int
    mark: str
    tail: Point
    head: tuple[Point, Point, Point]
    """The arrow's head; its first point lies at the wall the pull goes to."""
    mark_at: Point
    number_at: Point


@dataclass(frozen=True)
class WallName:
    """The name of a wall beside it."""

    text: str
    at: Point
    turned: int
    """Degrees."""


@dataclass(frozen=True)
class PlanDrawing:
    """The room with all pulls, seen from above, the door wall at the bottom."""

    frame: tuple[float, float, float, float]
    """Left, top, width, height of all that is drawn."""
    room: tuple[float, float, float, float]
    """Left, top, width, height of the rectangle."""
    scale: float
    """Drawing units to the inch, along both sides."""
    start: Point
    """The start corner."""
    arrows: tuple[Arrow, ...]
    names: tuple[WallName, ...]


def draw_plan(summary: JobSummary) -> PlanDrawing | None:
    """The plan to scale; None before there is one."""
    room, corner = summary.room, summary.corner
    if summary.plan is None or room is None or corner is None:
        return None
    scale = _scale(float(max(room.length, room.width).inches))
    size = (float(room.width.inches) * scale, float(room.length.inches) * scale)
    busy = {each.pull.wall for each in summary.pulls}
    points = [_on_wall(each.pull.wall, _along(each, scale), corner, size) for each in summary.pulls]
    near = min((_along(each, scale) for each in summary.pulls), default=_ARROW)
    pairs = zip(summary.pulls, points, strict=True)
    arrows = tuple(_arrow(each, at, _reach(each.pull.wall, at, busy, size, near)) for each, at in pairs)
    start = _rounded(_on_wall(corner.walls[Axis.DOOR_TO_FAR], 0.0, corner, size))
    box = (MARGIN, MARGIN, round(size[0], 2), round(size[1], 2))
    return PlanDrawing(_frame(busy, size), box, scale, start, arrows, _names(busy, size))


def _scale(longest: float) -> float:
    """Drawing units to the inch: large rooms are drawn larger, so that neighbours 18 in apart do not touch."""
    return max(LONGEST / longest, min(2.6, 1000 / longest), 1.45)


def _frame(busy: set[Wall], size: Point) -> tuple[float, float, float, float]:
    spare = {wall: 0.0 if wall in busy else MARGIN - _MARGIN_FREE for wall in Wall}
    width = size[0] + 2 * MARGIN - spare[Wall.LEFT] - spare[Wall.RIGHT]
    height = size[1] + 2 * MARGIN - spare[Wall.FAR] - spare[Wall.DOOR]
    return spare[Wall.LEFT], spare[Wall.FAR], round(width, 2), round(height, 2)


def _along(each: PullSummary, scale: float) -> float:
    return float(each.pull.position.inches) * scale


def _reach(wall: Wall, at: Point, busy: set[Wall], size: Point, near: float) -> float:
    """Length of an arrow: shorter next to a corner where it would cross one of the other wall."""
    gaps = {
        Wall.LEFT: at[0] - MARGIN,
        Wall.RIGHT: MARGIN + size[0] - at[0],
        Wall.FAR: at[1] - MARGIN,
        Wall.DOOR: MARGIN + size[1] - at[1],
    }
    crossed = any(gaps[each] < _ARROW + _HEAD[1] for each in busy - {wall, wall.opposite})
    smaller = min(1.0, near / (_SHORTEST + _HEAD[1] + 1))
    return min(_ARROW, max(_SHORTEST * smaller, near - (_HEAD[1] + 3) * smaller)) if crossed else _ARROW


def _arrow(each: PullSummary, at: Point, reach: float) -> Arrow:
    inward = _INWARD[each.pull.wall]
    out, aside = (-inward[0], -inward[1]), (inward[1], inward[0])
    smaller = min(1.0, reach / _SHORTEST)
    base, half = _from(at, inward, (_CLEAR + _HEAD[0]) * smaller), _HEAD[1] * smaller
    head = (_from(at, inward, _CLEAR * smaller), _from(base, aside, half), _from(base, aside, -half))
    tail = _from(at, inward, reach)
    return Arrow(each.pull.number, each.mark, tail, head, _from(at, out, _MARK_OUT), _from(at, out, _NUMBER_OUT))


def _names(busy: set[Wall], size: Point) -> tuple[WallName, ...]:
    """Wall names, further out where marks and numbers stand."""
    wide, high = size[0] / 2 + MARGIN, size[1] / 2 + MARGIN
    middles = {
        Wall.FAR: ((wide, MARGIN), 0),
        Wall.DOOR: ((wide, MARGIN + size[1]), 0),
        Wall.LEFT: ((MARGIN, high), -90),
        Wall.RIGHT: ((MARGIN + size[0], high), 90),
    }
    found = []
    for wall, (at, turned) in middles.items():
        inward = _INWARD[wall]
        away = _NAME_OUT if wall in busy else _NAME_OUT_FREE
        found.append(WallName(f"{wall.value} wall", _from(at, (-inward[0], -inward[1]), away), turned))
    return tuple(found)


def _on_wall(wall: Wall, along: float, corner: Corner, size: Point) -> Point:
    """The point of `wall` that lies `along` from the start corner's side."""
    wide, high = size
    near = corner.walls
    x = along if near[Axis.LEFT_TO_RIGHT] is Wall.LEFT else wide - along
    y = high - along if near[Axis.DOOR_TO_FAR] is Wall.DOOR else along
    fixed = {Wall.LEFT: (0.0, y), Wall.RIGHT: (wide, y), Wall.FAR: (x, 0.0), Wall.DOOR: (x, high)}
    return fixed[wall][0] + MARGIN, fixed[wall][1] + MARGIN


def _from(at: Point, towards: Point, distance: float) -> Point:
    return _rounded((at[0] + towards[0] * distance, at[1] + towards[1] * distance))


def _rounded(at: Point) -> Point:
    return round(at[0], 2), round(at[1], 2)


@dataclass(frozen=True)
class BandChart:
    """One pull's movement against its band; every value is a distance from the left edge."""

    least: float | None
    """None where there is no band."""
    most: float
    """The right edge where no upper figure was given."""
    readings: tuple[float, ...]
    outcome: float | None
    mark: str


def chart_scale(pulls: Iterable[PullSummary]) -> float:
    """Per cent of the span that the full width of every chart stands for."""
    found = [2.0]
    for each in pulls:
        band = each.pull.band
        found += [_percent(moved, each.pull) for moved in _movements(each)]
        if band is not None:
            found.append(_percent(band.least if band.most is None else band.most, each.pull))
    return max(found) * 1.06


def draw_chart(each: PullSummary, full: float) -> BandChart:
    """The chart of one pull, `full` per cent wide."""

    def place(moved: Length) -> float:
        return round(max(0.0, _percent(moved, each.pull)) / full * CHART_WIDTH, 2)

    band, outcome = each.pull.band, each.outcome
    least = None if band is None else place(band.least)
    most = CHART_WIDTH if band is None or band.most is None else place(band.most)
    bites = tuple(place(reading.moved) for reading in each.record.readings)
    return BandChart(least, most, bites, None if outcome is None else place(outcome.moved), each.mark)


def _movements(each: PullSummary) -> tuple[Length, ...]:
    readings = tuple(reading.moved for reading in each.record.readings)
    return readings if each.outcome is None else (*readings, each.outcome.moved)


def _percent(moved: Length, pull: Pull) -> float:
    return float(percent(moved, pull.span))
