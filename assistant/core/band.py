"""The band: least and most that a pull should move, and the verdict on a reading."""

from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction

from assistant.core import trade
from assistant.core.length import Length, System


class Construction(Enum):
    """How the carpet is made."""

    TUFTED_SYNTHETIC = "tufted_synthetic"
    WOVEN = "woven"
    JUTE = "jute"
    UNITARY = "unitary"
    ATTACHED_CUSHION = "attached_cushion"


class Verdict(Enum):
    """What a reading is worth."""

    SHORT = "short"
    IN_BAND = "in band"
    OVER = "over"
    NONE = "no verdict"
    """Nobody gave a figure."""


@dataclass(frozen=True)
class Figure:
    """The stretch asked for in one direction of the carpet."""

    least: Fraction
    """Per cent of the span."""
    most: Fraction | None
    """Per cent of the span; None where no upper figure was given."""
    from_maker: bool
    """Given by the carpet's maker; otherwise the default, whose upper figure is a soft ceiling."""


DEFAULT_FIGURE = Figure(trade.LEAST_STRETCH.value, trade.SOFT_CEILING.value, from_maker=False)
"""Tufted carpet with synthetic backing and no maker's figure (CRI 2011 s.16.5.2; ceiling second hand)."""


def figure_for(construction: Construction, maker: Figure | None, pattern: Fraction = Fraction(0)) -> Figure | None:
    """The figure that governs: the maker's first, else the default where one exists, else None = no verdict.

    `pattern`: percentage points that the maker asks for a patterned carpet, on top of least and of most. Patterned
    goods may need more than the least (CRI 2011 s.16.5.2). A pattern alone governs nothing.
    """
    default = DEFAULT_FIGURE if construction is Construction.TUFTED_SYNTHETIC else None
    figure = default if maker is None else maker
    if figure is None or not pattern:
        return figure
    return replace(figure, least=figure.least + pattern, most=None if figure.most is None else figure.most + pattern)


@dataclass(frozen=True)
class Band:
    """Least and most for one span."""

    least: Length
    """Exact."""
    most: Length | None
    """Exact; None where no upper figure was given."""
    tape_least: Length
    """`least` rounded UP to the tape's graduation."""
    tape_most: Length | None
    """`most` rounded DOWN, so that a reading on the spoken figure is always inside."""

    @property
    def empty(self) -> bool:
        """No mark of this tape lies inside."""
        return self.tape_most is not None and self.tape_most < self.tape_least


def band(span: Length, figure: Figure, system: System) -> Band:
    """The band of `span` under `figure` on a tape of `system`."""
    least = span * (figure.least / 100)
    most = None if figure.most is None else span * (figure.most / 100)
    step = system.graduation
    return Band(least, most, least.up_to(step), None if most is None else most.down_to(step))


def judge(moved: Length, band: Band | None) -> Verdict:
    """The verdict on a movement, by the exact band, not the rounded one."""
    if band is None:
        return Verdict.NONE
    if moved < band.least:
        return Verdict.SHORT
    if band.most is not None and moved > band.most:
        return Verdict.OVER
    return Verdict.IN_BAND


def percent(moved: Length, span: Length) -> Fraction:
    """Movement in per cent of the span."""
    return moved.per(span) * 100


def as_judged(moved: Length, band: Band | None, system: System) -> Length:
    """`moved` as it is shown: to the nearest mark whose verdict is its own, a finer one where no mark of the tape has.

    What is told exactly (see `Length.told`) is not rounded.
    """
    if moved.told(system) == moved:
        return moved
    verdict = judge(moved, band)
    nears = ((moved.nearest(step), step) for step in (system.graduation, *system.finest))
    tries = (each for near, step in nears for each in (near, near - step, near + step))
    return next((each for each in tries if judge(each, band) is verdict), moved)


def share_as_judged(moved: Length, span: Length, band: Band | None) -> Fraction:
    """Movement in per cent of the span as shown: to the nearest hundredth whose verdict is its own, else exact."""
    verdict, share, step = judge(moved, band), percent(moved, span), Fraction(1, 100)
    near = round(share, 2)
    tries = (near, near - step, near + step)
    return next((each for each in tries if judge(span * (each / 100), band) is verdict), share)
