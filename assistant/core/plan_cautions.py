"""What is to be known about a plan before the first pull; never a block."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from assistant.core import trade
from assistant.core.band import Figure
from assistant.core.caution import Caution
from assistant.core.compass import Wall
from assistant.core.deadman import Split
from assistant.core.kit import Lack, Shortage
from assistant.core.length import ZERO, System, feet, tape
from assistant.core.order import Direction
from assistant.core.pull import Pass, Pull
from assistant.core.room import Room
from assistant.core.row import Row
from assistant.core.wall_layout import Remark

_TAILS = {
    "doorway": "the tail would stand in a doorway",
    "hearth": "the tail would stand against a hearth",
    "island": "the tail would stand against an island",
    "reflex": "the tail would stand past a corner",
}


def plan_cautions(
    room: Room, figures: Mapping[Direction, Figure | None], rows: Mapping[Wall, Row], passes: Sequence[Pass]
) -> tuple[Caution, ...]:
    """Everything worth knowing, a direction at a time."""
    found = [*room.cautions, *(each for side, row in rows.items() for each in _layouts(room, side, row))]
    for direction in Direction:
        pulls = [pull for each in passes for pull in each.pulls if pull.direction is direction]
        found += _strip(direction, pulls, room.system)
        found += _figure(direction, figures.get(direction), pulls, room.system)
        found += _tails(pulls)
        found += _angles(direction, pulls, passes)
        found += _reach(direction, pulls, room.system)
    return tuple(found)


def _layouts(room: Room, side: Wall, row: Row) -> Iterator[Caution]:
    for wall, laid in row.walls:
        name = f"{side.value} wall" if room.outline is None else f"wall {wall}"
        for note in laid.notes:
            source = "ours" if note.remark is Remark.ONE_MORE else trade.GAP_MOST.source
            yield Caution(f"layout: {note.remark.name.lower()}", f"{name}: {note.words(room.system)}", source)


def _strip(direction: Direction, pulls: Sequence[Pull], system: System) -> Iterator[Caution]:
    longest = max((each.span for each in pulls), default=ZERO)
    if longest > feet(trade.WIDE_STRIP_SPAN.value):
        told = tape(longest.up_to(system.graduation), system)
        text = f"{direction.value} pulls: a span of {told} is over 30 ft; use wide strip or two rows"
        yield Caution("wide strip", text, trade.WIDE_STRIP_SPAN.source)


def _figure(direction: Direction, figure: Figure | None, pulls: Sequence[Pull], system: System) -> Iterator[Caution]:
    if figure is None:
        text = f"{direction.value} pulls: the maker gives no figure for this carpet, so there is no verdict"
        yield Caution("no verdict", text, trade.LEAST_STRETCH.source)
        return
    for span in dict.fromkeys(each.stretched for each in pulls if each.band and each.band.empty):
        told = tape(span, system)
        text = f"{direction.value} pulls: no mark of the tape lies between least and most on {told}"
        yield Caution("empty band", text, "arithmetic")


def _tails(pulls: Sequence[Pull]) -> Iterator[Caution]:
    for (_, flag), group in groupby(
        (each for each in pulls if each.flag), key=lambda each: (each.wall_number, each.flag)
    ):
        text = f"{_named(list(group))}: {_TAILS[flag]}; lay a deadman, a board of strip, for it"
        yield Caution(f"tail: {flag}", text, "common practice, no published source")


def _angles(direction: Direction, pulls: Sequence[Pull], passes: Sequence[Pass]) -> Iterator[Caution]:
    asked = any(each.rule.first_angle for each in passes if each.rule.direction is direction)
    if asked and not any(each.angle for each in pulls):
        text = f"{direction.value} pulls: no room to angle the first pull into the corner; it is pulled straight"
        yield Caution("angle", text, "common practice, no published source")


def _reach(direction: Direction, pulls: Sequence[Pull], system: System) -> Iterator[Caution]:
    """Spans that no build of the kit reaches, each span once."""
    short = [(each, each.build) for each in pulls if isinstance(each.build, Shortage)]
    for what in dict.fromkeys(build for _, build in short):
        numbers = _named([pull for pull, build in short if build == what])
        yield Caution("reach", f"{numbers}: {_reach_text(what, system)}", "arithmetic from the kit of the settings")


def _reach_text(what: Shortage, system: System) -> str:
    missing, span = tape(what.missing.up_to(system.graduation), system), tape(what.span, system)
    if what.lack is Lack.TOO_SHORT:
        return f"the stretcher is {missing} too long for {span}"
    if what.lack is Lack.BETWEEN:
        told = f"no tubes and hole fit {span}: the nearest is {missing} off"
    else:
        told = f"the stretcher cannot reach {span}: {missing} is missing"
    if what.parts < 2:
        return told
    part = tape(Split(what.span, what.parts).part, system)
    split = f"work from the middle with deadmen, {what.parts} parts of {part}"
    return f"{told}; {split}; least, most and readings are of one part"


def _named(pulls: Sequence[Pull]) -> str:
    numbers = [str(each.number) for each in pulls]
    return f"pull {numbers[0]}" if len(numbers) == 1 else f"pulls {', '.join(numbers)}"
