"""Geometry of the job's time as one strip, in drawing units."""

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.record.timeline import Stretch

WIDTH = 1000.0
_STOP = 34.0
"""Time in which no session ran is drawn so wide, however long: nights would push the work together."""
_LEAST = 3.0
"""The shortest stretch can still be seen."""
_LETTER = 9.0
"""About the width of a letter of the labels."""
IDLE = ("pause", "stopped")


@dataclass(frozen=True)
class Piece:
    """One stretch."""

    what: str
    kind: str
    """'work', 'pause' or 'stopped'."""
    x: float
    width: float
    label: str
    """What stands in it; '' where it does not fit."""


def time_strip(stretches: Sequence[Stretch]) -> tuple[Piece, ...]:
    """The stretches side by side; to scale but for those in which no session ran."""
    shown = [each for each in stretches if each.what == "stopped" or (each.seconds or 0.0) > 0]
    total = sum(each.seconds or 0.0 for each in shown if each.what != "stopped")
    stops = sum(each.what == "stopped" for each in shown)
    unit = max(WIDTH - stops * _STOP, WIDTH / 2) / total if total else 0.0
    found, x = [], 0.0
    for each in shown:
        wide = _STOP if each.what == "stopped" else max(_LEAST, (each.seconds or 0.0) * unit)
        label = each.what if len(each.what) * _LETTER + 8 < wide else ""
        found.append(Piece(each.what, each.what if each.what in IDLE else "work", round(x, 2), round(wide, 2), label))
        x += wide
    squeeze = WIDTH / x if x else 1.0
    return tuple(
        Piece(each.what, each.kind, round(each.x * squeeze, 2), round(each.width * squeeze, 2), each.label)
        for each in found
    )
