"""A row: the heads of one direction along every wall of one side of the room."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from assistant.core import bearing
from assistant.core.chord import Caster, Chord
from assistant.core.compass import Wall
from assistant.core.layout import HeadRule
from assistant.core.length import Length
from assistant.core.outline import Outline, Point
from assistant.core.wall_layout import WallLayout, lay_out_wall

_INTO_THE_ROOM = {Wall.DOOR: 0, Wall.LEFT: 90, Wall.FAR: 180, Wall.RIGHT: 270}
"""Degrees to the right of straight away from the door, from a wall of that side."""


@dataclass(frozen=True)
class Placed:
    """One head on the floor."""

    wall: int
    position: Length
    """Its centre along the wall, from the wall's end nearer to the start corner."""
    across: Length
    """From the start corner's side of the room, square to the pull."""
    head_at: Point
    tail_at: Point
    chord: Chord
    flag: str
    """What the tail stands against that is no sound wall: 'doorway', 'hearth', 'island', 'reflex'; '' = nothing."""
    angle: Fraction = Fraction(0)
    """Degrees the pull leans into the start corner's side."""


@dataclass(frozen=True)
class Row:
    """All heads that pull towards one side of the room, from the start corner on."""

    placed: tuple[Placed, ...]
    walls: tuple[tuple[int, WallLayout], ...]
    """The walls of that side in the order they are pulled, each with its layout."""


def row(caster: Caster, towards: Wall, home: Wall, head: HeadRule) -> Row:
    """Heads on every wall that faces `towards`; `home` is the side of the start corner, across the pull."""
    outline = caster.floor.outline
    across, way = _measure_from(outline, home), straight(towards)
    facing = [wall for wall in range(1, outline.walls + 1) if outline.facing(wall) is towards]
    ends = {wall: tuple(map(across, outline.ends(wall))) for wall in facing}
    placed: list[Placed] = []
    walls: list[tuple[int, WallLayout]] = []
    for wall in sorted(facing, key=lambda each: min(ends[each])):
        backwards = ends[wall][0] > ends[wall][1]
        stand = caster.stand(wall, way)
        laid = lay_out_wall(caster.floor.strip(wall), head, stand.bars(), backwards)
        length = outline.length_of(wall)
        for each in laid.places:
            position = length - each.centre if backwards else each.centre
            chord = stand.cast(each.centre)
            head_at, tail_at = stand.ends(chord)
            placed.append(Placed(wall, position, across(head_at), head_at, tail_at, chord, each.flag))
        walls.append((wall, laid))
    return Row(tuple(placed), tuple(walls))


def leaning(caster: Caster, first: Placed, towards: Wall, home: Wall, angle: Fraction) -> Placed:
    """The first pull of a row, its tail `angle` degrees further from the `home` side, so that it pulls into the corner.

    It stays straight where the tail would come against another side of the room, or stand badly.
    """
    right = _INTO_THE_ROOM[home] == (_INTO_THE_ROOM[towards] + 90) % 360
    stand = caster.stand(first.wall, bearing.turned(straight(towards), angle if right else -angle))
    chord = stand.cast(first.chord.head.at)
    if chord.trouble or caster.floor.outline.facing(chord.tail.wall) is not towards.opposite:
        return first
    return replace(first, chord=chord, tail_at=stand.ends(chord)[1], flag="", angle=angle)


def straight(towards: Wall) -> bearing.Direction:
    """From a head at that side of the room straight to its tail."""
    return bearing.heading(Fraction(_INTO_THE_ROOM[towards]))


def _measure_from(outline: Outline, home: Wall) -> Callable[[Point], Length]:
    """How far a point lies from the `home` side of the box around the room."""
    xs, ys = [each.x for each in outline.corners], [each.y for each in outline.corners]
    left, right, door, far = min(xs), max(xs), min(ys), max(ys)
    ways: dict[Wall, Callable[[Point], Length]] = {
        Wall.LEFT: lambda point: Length(point.x - left),
        Wall.RIGHT: lambda point: Length(right - point.x),
        Wall.DOOR: lambda point: Length(point.y - door),
        Wall.FAR: lambda point: Length(far - point.y),
    }
    return ways[home]
