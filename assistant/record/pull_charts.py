"""Geometry of the charts that show pulls side by side, in drawing units; the templates only place what stands here."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, count, pairwise
from math import ceil, floor

from assistant.core.band import Figure, percent
from assistant.core.neighbours import Neighbours
from assistant.record.figures import over
from assistant.record.summary import PullSummary

COLUMN = 46.0
"""From pull to pull."""
A_ROW = 20
"""So many pulls side by side; more stand in further rows."""
LEFT, RIGHT, TOP, BOTTOM = 58.0, 14.0, 16.0, 34.0
_FEWEST = 10
"""A row is at least as wide as for so many pulls, so that letters stay the same size."""
_HIGH, _BARS_HIGH = 230.0, 84.0
_STEPS = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 25.0)
_MOST_LINES = 7
_CLEAR = 0.05
"""Percentage points above the highest and below the lowest that are shown, too."""


@dataclass(frozen=True)
class Level:
    """A line across, with its figure at the left."""

    y: float
    text: str


@dataclass(frozen=True)
class Spot:
    """One pull."""

    number: int
    mark: str
    x: float
    reading: float | None
    """Height of the last reading before hooking."""
    outcome: float | None
    measured: bool


@dataclass(frozen=True)
class Link:
    """From one pull to its neighbour."""

    start: tuple[float, float]
    end: tuple[float, float]
    uneven: str
    """How far apart, where that is over the setting: '0.21'; '' = it is not."""

    @property
    def label_at(self) -> tuple[float, float]:
        """Above the middle."""
        return round((self.start[0] + self.end[0]) / 2, 2), round(min(self.start[1], self.end[1]) - 12, 2)


@dataclass(frozen=True)
class Frame:
    """What all charts have: how large, and the lines across."""

    width: float
    height: float
    levels: tuple[Level, ...]

    @property
    def bottom(self) -> float:
        """Where the pulls' numbers begin."""
        return self.height - BOTTOM

    @property
    def right(self) -> float:
        """Where the lines end."""
        return self.width - RIGHT


@dataclass(frozen=True)
class StretchChart(Frame):
    """One row of a direction's pulls."""

    band: tuple[float, float] | None
    """Top and bottom of the band; None where nobody gave a figure."""
    spots: tuple[Spot, ...]
    links: tuple[Link, ...]


@dataclass(frozen=True)
class Bar:
    """One pull's figure as a column."""

    number: int
    x: float
    top: float | None
    """None where the pull has no such figure."""
    text: str


@dataclass(frozen=True)
class BarChart(Frame):
    """One row of columns."""

    bars: tuple[Bar, ...]


def stretch_charts(
    line: Sequence[PullSummary], pairs: Sequence[Neighbours], figure: Figure | None
) -> tuple[StretchChart, ...]:
    """The pulls of a direction, `line`, in rows; all with the same scale, per cent of the span."""
    shown = [each for pull in line for each in (_reading(pull), pull.percent) if each is not None]
    limits = [] if figure is None else [each for each in (figure.least, figure.most) if each is not None]
    if not shown and not limits:
        return ()
    found = [*map(float, shown), *map(float, limits)]
    scale = _scale([max(0.0, min(found) - _CLEAR), max(found) + _CLEAR])
    apart = {(each.first.number, each.second.number): each for each in pairs}
    return tuple(_stretch_row(row, apart, figure, scale) for row in _rows(line))


def _stretch_row(
    row: Sequence[PullSummary],
    apart: dict[tuple[int, int], Neighbours],
    figure: Figure | None,
    scale: tuple[float, float, float],
) -> StretchChart:
    frame, y = _frame(len(row), _HIGH, scale)
    spots = tuple(_spot(each, at, y) for at, each in enumerate(row))
    band = None
    if figure is not None:
        band = (TOP if figure.most is None else y(float(figure.most)), y(float(figure.least)))
    return StretchChart(frame.width, frame.height, frame.levels, band, spots, tuple(_links(spots, apart)))


def _spot(each: PullSummary, at: int, y: Callable[[float], float]) -> Spot:
    reading, share = _reading(each), each.percent
    return Spot(
        number=each.pull.number,
        mark=each.mark,
        x=_x(at),
        reading=None if reading is None else y(float(reading)),
        outcome=None if share is None else y(float(share)),
        measured=each.outcome is not None and each.outcome.measured,
    )


def _reading(each: PullSummary) -> Fraction | None:
    """The last reading before hooking, per cent of the span."""
    return None if each.record.reading is None else percent(each.record.reading, each.pull.stretched)


def _links(spots: Sequence[Spot], apart: dict[tuple[int, int], Neighbours]) -> Iterator[Link]:
    for one, two in pairwise(spots):
        pair = apart.get((one.number, two.number))
        if pair is not None and one.outcome is not None and two.outcome is not None:
            text = over(pair.points) if pair.uneven else ""
            yield Link((one.x, one.outcome), (two.x, two.outcome), text)


def bar_charts(
    pulls: Sequence[PullSummary],
    value: Callable[[PullSummary], float | None],
    text: Callable[[PullSummary], str],
    finest: float,
) -> tuple[BarChart, ...]:
    """A figure of every pull as columns, from nothing up, in the order made; lines `finest` apart or wider."""
    values = [found for each in pulls if (found := value(each)) is not None]
    if not values:
        return ()
    scale = _scale([0.0, *values], 4, finest)

    def chart(row: Sequence[PullSummary]) -> BarChart:
        frame, y = _frame(len(row), _BARS_HIGH, scale)
        bars = []
        for at, each in enumerate(row):
            found = value(each)
            bars.append(Bar(each.pull.number, _x(at), None if found is None else y(found), text(each)))
        return BarChart(frame.width, frame.height, frame.levels, tuple(bars))

    return tuple(map(chart, _rows(pulls)))


def _rows(pulls: Sequence[PullSummary]) -> list[Sequence[PullSummary]]:
    return [pulls[at : at + A_ROW] for at in range(0, len(pulls), A_ROW)]


def _x(at: int) -> float:
    return round(LEFT + (at + 0.5) * COLUMN, 2)


def _scale(values: Sequence[float], lines: int = _MOST_LINES, finest: float = 0.1) -> tuple[float, float, float]:
    """Lowest and highest figure of the axis and the step between its lines: whole steps around all values."""
    least, most = min(values), max(values)
    steps = chain((each for each in _STEPS if each >= finest), (100.0 * 10.0**power for power in count()))
    ends = ((floor(least / each + 1e-9) * each, ceil(most / each - 1e-9) * each, each) for each in steps)
    low, high, step = next(found for found in ends if found[1] - found[0] <= found[2] * lines)
    return low, max(high, low + step), step


def _frame(columns: int, high: float, scale: tuple[float, float, float]) -> tuple[Frame, Callable[[float], float]]:
    low, top, step = scale

    def y(value: float) -> float:
        return round(TOP + high * (top - value) / (top - low), 2)

    marks = [low + step * place for place in range(round((top - low) / step) + 1)]
    levels = tuple(Level(y(each), f"{each:.2f}".rstrip("0").rstrip(".")) for each in marks)
    return Frame(LEFT + max(columns, _FEWEST) * COLUMN + RIGHT, TOP + high + BOTTOM, levels), y
