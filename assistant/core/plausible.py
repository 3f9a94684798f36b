"""Is a spoken figure possible here? The answer names the message that refuses it or the question that doubts it."""

from dataclasses import dataclass
from fractions import Fraction

from assistant.core import trade
from assistant.core.conditions import fahrenheit
from assistant.core.length import Length, System, feet, inches, system_of
from assistant.core.meaning import Quantity
from assistant.core.plan import Pull
from assistant.core.record import PullRecord


@dataclass(frozen=True)
class Doubt:
    """Why a figure does not stand as said."""

    why: str
    """Key of the message."""
    refused: bool
    """It cannot be and is asked again; otherwise an explicit yes lets it stand."""


_HEAD_MOST = inches(12)
_TEMPERATURES = (Fraction(-20), Fraction(130))
_MOST_PERCENT = Fraction(10)


def side(length: Length, said: Quantity, system: System | None) -> Doubt | None:
    """A side of the room; `system` is the tape of the side before it."""
    if system is not None and system_of(said) is not system:
        return Doubt("mixed_units", refused=True)
    if length < feet(trade.ROOM_SIDE_LEAST.value):
        return Doubt("side_too_short", refused=True)
    if length > feet(trade.ROOM_SIDE_MOST.value):
        return Doubt("side_too_long", refused=True)
    return None


def reading(said: Quantity, system: System, pull: Pull, record: PullRecord) -> Doubt | None:
    """A movement of the mark at a pull."""
    if system_of(said) is not system:
        return Doubt("mixed_units", refused=True)
    moved = Length.of(said)
    if moved > _doubtful(pull):
        return Doubt("doubt_large", refused=False)
    if record.reading is not None and not record.slipped and moved < record.reading:
        return Doubt("doubt_smaller", refused=False)
    return None


def _doubtful(pull: Pull) -> Length:
    """Doubted above this: a maker may ask for more than the usual share."""
    usual = pull.span * (trade.READING_DOUBT.value / 100)
    if pull.band is None:
        return usual
    return max(usual, (pull.band.most or pull.band.least) * trade.READING_OVER_BAND.value)


def hold(said: Quantity, system: System, record: PullRecord) -> Doubt | None:
    """The measurement after hooking."""
    if system_of(said) is not system:
        return Doubt("mixed_units", refused=True)
    if record.reading is not None and Length.of(said) > record.reading:
        return Doubt("doubt_hold", refused=False)
    return None


def head(said: Quantity, system: System) -> Doubt | None:
    """Distance of the head from the wall."""
    if system_of(said) is not system:
        return Doubt("mixed_units", refused=True)
    return Doubt("head_impossible", refused=True) if Length.of(said) > _HEAD_MOST else None


def figure(least: Fraction, most: Fraction | None) -> Doubt | None:
    """A maker's figure, per cent."""
    highest = least if most is None else most
    wrong = not 0 < least <= highest <= _MOST_PERCENT
    return Doubt("figure_impossible", refused=True) if wrong else None


def condition(kind: str, said: Quantity) -> Doubt | None:
    """Temperature, humidity or hours unrolled."""
    low, high = _TEMPERATURES
    wrong = (kind == "temperature" and not low <= fahrenheit(said) <= high) or (kind == "humidity" and said.value > 100)
    return Doubt("condition_impossible", refused=True) if wrong else None
