"""What a folder of jobs came to: plain rows, whichever engine brought them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Row = Mapping[str, Any]
DIMENSIONS = ("crew", "person", "carpet", "month")
"""What jobs are grouped by."""
FOLLOWED = DIMENSIONS[:-1]
"""Those that are followed month by month."""
WORST = 10
"""So many of the worst pulls are listed."""


@dataclass(frozen=True)
class Answers:
    """What a folder of jobs came to."""

    totals: Row
    groups: Mapping[str, Sequence[Row]]
    """By dimension."""
    trends: Mapping[str, Sequence[Row]] = field(default_factory=dict)
    """By dimension, month by month."""
    second_look: Sequence[Row] = ()
    worst: Sequence[Row] = ()


def answers_of(found: Mapping[str, Sequence[Row]]) -> Answers:
    """The rows that each question brought, by the names of `questions.all_of`."""

    def named(start: str) -> dict[str, Sequence[Row]]:
        return {name.removeprefix(start): rows for name, rows in found.items() if name.startswith(start)}

    return Answers(found["totals"][0], named("by "), named("trend by "), found["second look"], found["worst pulls"])
