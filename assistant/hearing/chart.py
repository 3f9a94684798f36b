"""Lines over named or numbered places as an SVG, drawn with jinja like the house's report; no script, no font."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000")
"""Okabe and Ito's: told apart by every kind of eye."""
DASHES = ("", "7 4", "2 3")
"""After the colours are used up."""
_WIDTH, _HEIGHT = 760, 420
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 540, 40, 360


@dataclass(frozen=True)
class Dot:
    """One measured point."""

    x: float
    """In units of the chart's x axis: for named places their number from 0."""
    y: float
    low: float | None = None
    """Ends of the interval; None = no interval."""
    high: float | None = None


@dataclass(frozen=True)
class Series:
    """One line."""

    name: str
    dots: Sequence[Dot]
    asked: bool = False
    """A bar that is asked for, not a measurement: dashed grey."""


@dataclass(frozen=True)
class Chart:
    """What is drawn."""

    title: str
    x_label: str
    y_label: str
    ticks: Sequence[tuple[str, float]]
    """Labels of the x axis and where they stand."""
    y_ticks: Sequence[float]
    """From the lowest to the highest value shown."""
    series: Sequence[Series]


@cache
def _template() -> Template:
    folder = Path(__file__).with_name("templates")
    found = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return found.get_template("chart.svg")


def draw(chart: Chart) -> str:
    """The SVG's text; the same chart always gives the same text."""
    least, most = chart.y_ticks[0], chart.y_ticks[-1]
    places = [x for _, x in chart.ticks]
    first, span = min(places), max(places) - min(places) or 1.0

    def across(x: float) -> float:
        return round(_LEFT + 30 + (x - first) / span * (_RIGHT - _LEFT - 60), 1)

    def down(y: float) -> float:
        return round(_BOTTOM - (min(max(y, least), most) - least) / (most - least) * (_BOTTOM - _TOP), 1)

    def line(number: int, series: Series) -> dict[str, object]:
        dots = [
            (
                across(dot.x),
                down(dot.y),
                None if dot.low is None else down(dot.low),
                None if dot.high is None else down(dot.high),
            )
            for dot in series.dots
        ]
        return {
            "name": series.name,
            "colour": "#888" if series.asked else COLOURS[number % len(COLOURS)],
            "dash": "4 4" if series.asked else DASHES[number // len(COLOURS) % len(DASHES)],
            "path": " ".join(f"{x},{y}" for x, y, _, _ in dots),
            "dots": [] if series.asked else dots,
            "legend_y": _TOP + 12 + 20 * number,
        }

    return _template().render(
        chart=chart,
        width=_WIDTH,
        height=_HEIGHT,
        left=_LEFT,
        right=_RIGHT,
        top=_TOP,
        bottom=_BOTTOM,
        rules=[(f"{each:g}", down(each)) for each in chart.y_ticks],
        ticks=[(label, across(x)) for label, x in chart.ticks],
        lines=[line(number, each) for number, each in enumerate(chart.series)],
    )
