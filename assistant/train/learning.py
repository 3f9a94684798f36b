"""The learning curve: what more hours of distinct speech, and more training steps, do for a network."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log2
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.hearing.chart import Chart, Dot, Series, draw
from assistant.hearing.outcome import Share
from assistant.hearing.page import table
from assistant.train import lines

COLUMNS = ("hours", "steps", "condition", "sentences", "right", "other", "taken")
"""Of the table; the last four are counts of recordings."""


@dataclass(frozen=True)
class Point:
    """One network, heard with under one condition."""

    hours: float
    """Of distinct speech."""
    steps: int
    """Of MMI; 0 = cross entropy alone."""
    condition: str
    right: Share
    taken: Share
    """Of other speech."""


def read_points(file: Path) -> list[Point]:
    """The lines of a table. Raises Refusal (USAGE) naming file and line."""
    try:
        rows = list(lines.table(file, *COLUMNS))
    except OSError as error:
        raise Refusal(Exit.USAGE, f"{file}: cannot be read ({error.strerror}); name a table of points") from None
    if not rows:
        lines.refuse(file, 2, "no point; add a line for each network and condition")
    return [_point(file, number, row) for number, row in rows]


def _point(file: Path, line: int, row: dict[str, str]) -> Point:
    try:
        hours, steps = float(row["hours"]), int(row["steps"])
        sentences, right, other, taken = (int(row[each]) for each in COLUMNS[3:])
    except ValueError as error:
        lines.refuse(file, line, f"{error}; write figures only")
    if not (hours > 0 and steps >= 0 and 0 <= right <= sentences and 0 <= taken <= other):
        lines.refuse(file, line, "hours must be above 0, no count below 0, a part no more than its whole")
    return Point(hours, steps, row["condition"], Share(right, sentences), Share(taken, other))


def learning_page(points: Sequence[Point], command: str) -> str:
    """Markdown."""
    rows = [(f"{each.hours:g}", each.steps, each.condition, each.right, each.taken) for each in points]
    head = ("hours", "steps of MMI", "condition", "right, % (95 %)", "other speech taken, % (95 %)")
    return (
        "# The learning curve\n\n"
        f"Written by `{command}`; not edited by hand. One network of 4.4 million parameters, from random weights each "
        "time: 700 steps of cross entropy, then so many of MMI, on so many hours of distinct speech. Development "
        "recordings of synthetic voices never trained on; the best guess counts, nothing is refused: no witness, no "
        "calibration. Figures here are for comparing with each other only.\n\n"
        f"![by hours](learning-hours.svg)\n\n![by steps](learning-steps.svg)\n\n{table(head, rows)}\n"
    )


def learning_pictures(points: Sequence[Point]) -> dict[str, str]:
    """File name -> SVG: by hours, at the most steps; by steps, with the most hours."""
    steps, hours = max(each.steps for each in points), max(each.hours for each in points)
    long, much = [each for each in points if each.steps == steps], [each for each in points if each.hours == hours]
    by_hours = [(f"{each:g}", log2(each)) for each in sorted({each.hours for each in long})]
    by_steps = [(str(each), float(each)) for each in sorted({each.steps for each in much})]
    return {
        "learning-hours.svg": _picture(
            f"Sentences right after {steps} steps", "hours of distinct speech, a doubling each", by_hours,
            [(log2(each.hours), each) for each in long],
        ),
        "learning-steps.svg": _picture(
            f"Sentences right with {hours:g} hours", "steps of MMI after cross entropy", by_steps,
            [(float(each.steps), each) for each in much],
        ),
    }  # fmt: skip


def _picture(title: str, axis: str, ticks: Sequence[tuple[str, float]], dots: Iterable[tuple[float, Point]]) -> str:
    found: dict[str, list[Dot]] = {}
    for x, point in dots:
        found.setdefault(point.condition, []).append(Dot(x, point.right.percent, *point.right.interval))
    series = [Series(name, each) for name, each in found.items()]
    return draw(Chart(title, axis, "per cent", ticks, [50.0, 60.0, 70.0, 80.0, 90.0, 100.0], series))
