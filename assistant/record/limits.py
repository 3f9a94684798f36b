"""The published limits of the day's conditions as the report shows them; the figures stand in core/trade.py."""

from dataclasses import dataclass

from assistant.core import trade
from assistant.core.trade import Constant, Vouch


@dataclass(frozen=True)
class Limit:
    """What a condition is held against."""

    text: str
    source: str


def _of(constant: Constant) -> str:
    """The figure as on a tape: '65', '3/8', '1 3/4'."""
    whole, part = divmod(constant.value, 1)
    return " ".join(str(each) for each in (whole, part) if each)


def _source(*constants: Constant) -> str:
    """Each source once, those that were not seen marked."""
    told = {each.source: "" if each.vouch is Vouch.PUBLISHED else f" ({each.vouch.value})" for each in constants}
    return "; ".join(source + vouch for source, vouch in told.items())


_HELD = f"held {_of(trade.CLIMATE_BEFORE)} h before, during and {_of(trade.CLIMATE_AFTER)} h after"

LIMITS = {
    "temperature": Limit(
        f"{_of(trade.AMBIENT_LEAST)} to {_of(trade.AMBIENT_MOST)} °F, never below {_of(trade.AMBIENT_NEVER_BELOW)} °F; "
        + _HELD,
        _source(trade.AMBIENT_LEAST),
    ),
    "humidity": Limit(
        f"{_of(trade.HUMIDITY_LEAST)} to {_of(trade.HUMIDITY_MOST)} %; {_HELD}",
        _source(trade.HUMIDITY_MOST, trade.HUMIDITY_LEAST),
    ),
    "unrolled": Limit(
        f"at least {_of(trade.UNROLLED_LEAST)} h, up to {_of(trade.UNROLLED_MOST)} h", _source(trade.UNROLLED_LEAST)
    ),
    "cushion": Limit(
        f"at most {_of(trade.CUSHION_MOST)} in; {_of(trade.CUSHION_LOW_PROFILE)} in under berber or low profile",
        _source(trade.CUSHION_MOST),
    ),
    "strip": Limit(
        f"{_of(trade.STRIP_WIDTH)} x {_of(trade.STRIP_THICKNESS)} in; spans over {_of(trade.WIDE_STRIP_SPAN)} ft: "
        f"{_of(trade.STRIP_WIDE)} in three-row, or two rows; at least {_of(trade.STRIP_FASTENERS)} fasteners a piece; "
        "none across openings",
        _source(trade.WIDE_STRIP_SPAN),
    ),
    "gully": Limit(
        f"at most {_of(trade.GULLY_MOST)} in and slightly less than the carpet is thick", _source(trade.GULLY_MOST)
    ),
    "slab_humidity": Limit(f"at most {_of(trade.SLAB_HUMIDITY_MOST)} %", _source(trade.SLAB_HUMIDITY_MOST)),
    "slab_ph": Limit(f"at most {_of(trade.SLAB_PH_MOST)}", _source(trade.SLAB_PH_MOST)),
}
"""By kind of condition."""
