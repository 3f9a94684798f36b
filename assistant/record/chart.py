"""Geometry of the report's band charts, in drawing units; the templates only place what stands here."""

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.core.band import percent
from assistant.core.length import Length
from assistant.core.plan import Pull
from assistant.record.summary import PullSummary

CHART_WIDTH = 220.0


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
    return float(percent(moved, pull.stretched))
