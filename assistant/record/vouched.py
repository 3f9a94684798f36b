"""Every figure that pulls were judged by, and who vouches for it."""

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core import trade
from assistant.core.length import inches, tape
from assistant.core.trade import Constant
from assistant.record.figures import number
from assistant.record.glance import VOUCH
from assistant.record.summary import DirectionSummary, JobSummary
from assistant.record.telling import figure, points


@dataclass(frozen=True)
class Vouched:
    """One figure."""

    name: str
    figure: str
    vouch: str
    source: str


def vouched(summary: JobSummary) -> tuple[Vouched, ...]:
    """The stretch asked in each direction, then the settings that cautions rest on."""
    head = tape(inches(trade.HEAD_FROM_WALL_WARN.value), summary.system)
    return (
        *(row for each in summary.directions for row in _of_direction(each)),
        _setting("neighbours: no further apart than", _points(trade.NEIGHBOUR_JUMP), trade.NEIGHBOUR_JUMP),
        _setting("drift along a pass: no more than", _points(trade.DRIFT_RUN), trade.DRIFT_RUN),
        _setting("head off the wall: warned over", head, trade.HEAD_FROM_WALL_WARN),
    )


def _of_direction(each: DirectionSummary) -> Iterator[Vouched]:
    name, governs = f"{each.direction.value}: stretch", each.figure
    if governs is None:
        yield Vouched(name, "none", VOUCH["none"], "no verdict is given without a maker's figure")
    elif each.vouch == "maker":
        yield Vouched(name, figure(governs), VOUCH["maker"], "as told on the job; not checked against a data sheet")
    else:
        both = f"least: {trade.LEAST_STRETCH.source}; most: {_source(trade.SOFT_CEILING)}"
        yield Vouched(name, figure(governs), VOUCH["default"], both)
    if each.pattern:
        yield Vouched(f"{each.direction.value}: on top", points(each.pattern), VOUCH["maker"], "as told on the job")


def _setting(name: str, shown: str, constant: Constant) -> Vouched:
    return Vouched(name, shown, constant.vouch.value, constant.source)


def _points(constant: Constant) -> str:
    return f"{number(constant.value)} points"


def _source(constant: Constant) -> str:
    return f"{constant.source} ({constant.vouch.value})"
