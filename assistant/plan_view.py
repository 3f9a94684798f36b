"""A plan as text for people and as JSON for programs."""

from collections.abc import Iterator, Mapping
from typing import Any

from assistant.core import conditions
from assistant.core.band import Band, Figure
from assistant.core.caution import Caution
from assistant.core.conditions import Noted
from assistant.core.kit import Build, Shortage
from assistant.core.length import Length, System, tape
from assistant.core.order import Direction
from assistant.core.plan import Pass, Plan, Pull
from assistant.core.room import Room
from assistant.core.traverse import Misclosure
from assistant.record.room_rows import square
from assistant.record.telling import opening, placing


def all_cautions(plan: Plan, noted: Mapping[str, Noted]) -> tuple[Caution, ...]:
    """Those of the plan and of the day, each once."""
    return *conditions.with_strip(plan.cautions, noted), *conditions.cautions(noted)


def as_text(plan: Plan, misclosure: Misclosure | None = None, noted: Mapping[str, Noted] | None = None) -> str:
    """The plan, a line per pull."""
    job = plan.job
    lines = [
        *_room(job.room, misclosure),
        f"start     {job.corner.value.replace('_', ' ')} corner; carpet length {job.lay.value.replace('_', ' ')}",
        f"order     {job.order.name}",
        *(f"{each.value:9} {_figure_text(job.figures.of(each))}" for each in (Direction.LENGTH, Direction.CROSS)),
    ]
    for each in plan.passes:
        lines += ["", *_pass(each, job.room)]
    lines += ["", *(f"caution: {each.text} ({each.source})" for each in all_cautions(plan, noted or {}))]
    return "\n".join(lines).rstrip()


def _room(room: Room, misclosure: Misclosure | None) -> Iterator[str]:
    system = room.system
    yield f"room      {tape(room.length, system)} door to far, {tape(room.width, system)} left to right"
    outline = room.floor.outline
    if room.outline is not None:
        for wall in range(1, outline.walls + 1):
            yield f"wall {wall:<4} {tape(outline.length_of(wall), system)}, {outline.facing(wall).value} side"
    if misclosure is not None:
        yield f"closes    within {misclosure.told(system)}, spread over the walls"
    if room.measured:
        yield f"square    {square(room)}"
    for each in room.openings:
        side = "" if room.outline is not None else outline.facing(each.wall).value
        yield f"opening   {opening(each, system, side)}"


def _pass(each: Pass, room: Room) -> Iterator[str]:
    walls = dict.fromkeys(pull.wall_number for pull in each.pulls)
    named = f"the {each.pulls[0].wall.value} wall"
    if room.outline is not None:
        named = f"wall{'s' if len(walls) > 1 else ''} {', '.join(map(str, walls))}"
    yield f"pass {each.number}: {each.rule.direction.value}, {each.rule.part.value}, to {named}"
    yield "  pull   position        span            least        most         tubes"
    wall = each.pulls[0].wall_number
    for pull in each.pulls:
        if pull.wall_number != wall:
            wall = pull.wall_number
            yield f"  wall {wall}"
        yield _pull_text(pull, room.system)


def _figure_text(figure: Figure | None) -> str:
    if figure is None:
        return "no figure from the maker: no verdict"
    most = "" if figure.most is None else f" to {float(figure.most):g}"
    return f"{float(figure.least):g}{most} % ({'maker' if figure.from_maker else 'default'})"


def _pull_text(pull: Pull, system: System) -> str:
    least, most = _limits(pull.band, system)
    figures = f"{tape(pull.called_position, system):15} {tape(pull.span, system):15} {least:12} {most:12}"
    told = "; ".join(filter(None, (build_text(pull.build), *placing(pull, system))))
    return f"  {pull.number:<6} {figures} {told}".rstrip()


def build_text(build: Build | Shortage | None) -> str:
    """The tubes on one line: '2 x 4 ft, 1 x 1 ft, hole 3'; '' where no kit is set."""
    match build:
        case Build():
            tubes = [f"{each.count} x {tape(each.length, each.tape)}" for each in build.tubes] or ["no tubes"]
            return ", ".join([*tubes, f"hole {build.hole}"] if build.hole else tubes)
        case Shortage():
            return build.lack.value + ("" if build.each is None else f", each part {build_text(build.each)}")
        case _:
            return ""


def _limits(band: Band | None, system: System) -> tuple[str, str]:
    if band is None:
        return "-", "-"
    return tape(band.tape_least, system), "-" if band.tape_most is None else tape(band.tape_most, system)


def as_json(
    plan: Plan, misclosure: Misclosure | None = None, noted: Mapping[str, Noted] | None = None
) -> dict[str, Any]:
    """The plan as plain values: exact lengths as fractions of an inch, with the tape form beside them."""
    job, system = plan.job, plan.job.room.system
    cautions = all_cautions(plan, noted or {})
    return {
        "room": _room_values(job.room, misclosure),
        "system": system.value,
        "corner": job.corner.value,
        "lay": job.lay.value,
        "order": job.order.name,
        "figures": {each.value: _figure(job.figures.of(each)) for each in Direction},
        "passes": [
            {
                "number": each.number,
                "direction": each.rule.direction.value,
                "part": each.rule.part.value,
                "pulls": [_pull(pull, system) for pull in each.pulls],
            }
            for each in plan.passes
        ],
        "cautions": [{"about": each.about, "text": each.text, "source": each.source} for each in cautions],
    }


def _room_values(room: Room, misclosure: Misclosure | None) -> dict[str, Any]:
    outline, system = room.floor.outline, room.system
    walls = range(1, outline.walls + 1)
    return {
        "length": _length(room.length, system),
        "width": _length(room.width, system),
        "walls": [_length(outline.length_of(wall), system) for wall in walls],
        "corners": [[str(each.x), str(each.y)] for each in outline.corners],
        "misclosure": None if misclosure is None else _length(misclosure.off(system), system),
        "openings": [
            {
                "kind": each.kind.value,
                "wall": each.wall,
                "from": _length(each.start, system),
                "to": _length(each.end, system),
                "depth": _length(each.depth, system),
            }
            for each in room.openings
        ],
    }


def _length(length: Length | None, system: System) -> dict[str, str] | None:
    return None if length is None else {"inches": str(length.inches), "tape": tape(length, system)}


def _figure(figure: Figure | None) -> dict[str, Any] | None:
    if figure is None:
        return None
    most = None if figure.most is None else str(figure.most)
    return {"least_percent": str(figure.least), "most_percent": most, "from_maker": figure.from_maker}


def _pull(pull: Pull, system: System) -> dict[str, Any]:
    band = pull.band
    return {
        "number": pull.number,
        "wall": pull.wall.value,
        "wall_number": pull.wall_number,
        "position": _length(pull.position, system),
        "called_position": _length(pull.called_position, system),
        "span": _length(pull.span, system),
        "parts": pull.parts,
        "stretched": _length(pull.stretched, system),
        "angle_degrees": str(pull.angle),
        "tail": pull.flag or "wall",
        "tubes": build_text(pull.build) or None,
        "least": None if band is None else _length(band.tape_least, system),
        "most": None if band is None else _length(band.tape_most, system),
    }
