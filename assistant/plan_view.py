"""A plan as text for people and as JSON for programs."""

from typing import Any

from assistant.core.band import Band, Figure
from assistant.core.length import Length, System, tape
from assistant.core.order import Direction
from assistant.core.plan import Plan, Pull


def as_text(plan: Plan) -> str:
    """The plan, a line per pull."""
    job, system = plan.job, plan.job.room.system
    room = f"{tape(job.room.length, system)} door to far, {tape(job.room.width, system)} left to right"
    lines = [
        f"room      {room}",
        f"start     {job.corner.value.replace('_', ' ')} corner; carpet length {job.lay.value.replace('_', ' ')}",
        f"order     {job.order.name}",
        *(f"{each.value:9} {_figure_text(job.figures.of(each))}" for each in (Direction.LENGTH, Direction.CROSS)),
    ]
    for each in plan.passes:
        first = each.pulls[0]
        lines += [
            "",
            f"pass {each.number}: {each.rule.direction.value}, {each.rule.part.value}, to the {first.wall.value} wall",
        ]
        lines += ["  pull   position        span            least        most"]
        lines += [_pull_text(pull, system) for pull in each.pulls]
    lines += ["", *(f"caution: {each.text} ({each.source})" for each in plan.cautions)]
    return "\n".join(lines).rstrip()


def _figure_text(figure: Figure | None) -> str:
    if figure is None:
        return "no figure from the maker: no verdict"
    most = "" if figure.most is None else f" to {float(figure.most):g}"
    return f"{float(figure.least):g}{most} % ({'maker' if figure.from_maker else 'default'})"


def _pull_text(pull: Pull, system: System) -> str:
    least, most = _limits(pull.band, system)
    return (
        f"  {pull.number:<6} {tape(pull.called_position, system):15} {tape(pull.span, system):15} {least:12} {most}"
    ).rstrip()


def _limits(band: Band | None, system: System) -> tuple[str, str]:
    if band is None:
        return "-", "-"
    return tape(band.tape_least, system), "-" if band.tape_most is None else tape(band.tape_most, system)


def as_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain values: exact lengths as fractions of an inch, with the tape form beside them."""
    job, system = plan.job, plan.job.room.system
    return {
        "room": {"length": _length(job.room.length, system), "width": _length(job.room.width, system)},
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
        "cautions": [{"about": each.about, "text": each.text, "source": each.source} for each in plan.cautions],
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
        "position": _length(pull.position, system),
        "called_position": _length(pull.called_position, system),
        "span": _length(pull.span, system),
        "least": None if band is None else _length(band.tape_least, system),
        "most": None if band is None else _length(band.tape_most, system),
    }
