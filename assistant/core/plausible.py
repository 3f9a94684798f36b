"""Is a spoken figure possible here? The answer names the message that refuses it or the question that doubts it."""

from dataclasses import dataclass
from fractions import Fraction

from assistant.core import trade
from assistant.core.conditions import fahrenheit
from assistant.core.length import ZERO, Length, System, feet, inches, system_of
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


def side(length: Length, said: Quantity, system: System | None) -> Doubt | None:
    """A side of the room; `system` is the tape of the side before it."""
    if system is not None and system_of(said) is not system:
        return other_room_tape(system)
    if length < feet(trade.ROOM_SIDE_LEAST.value):
        return Doubt("side_too_short", refused=True)
    if length > feet(trade.ROOM_SIDE_MOST.value):
        return Doubt("side_too_long", refused=True)
    return None


def extent(length: Length) -> Doubt | None:
    """From wall to wall of an outline."""
    return Doubt("side_too_short", refused=True) if length < feet(trade.ROOM_SIDE_LEAST.value) else None


def wall(said: Quantity, system: System | None) -> Doubt | None:
    """A wall of an outline; `system` is the tape of the wall before it. Alcoves have short ones."""
    doubt = side(Length.of(said), said, system)
    if doubt is None or doubt.why != "side_too_short":
        return doubt
    return None if Length.of(said) > ZERO else Doubt("wall_of_nothing", refused=True)


def stretch(said: Quantity, system: System | None) -> Doubt | None:
    """A length within the room: along a wall, or in front of it."""
    return other_room_tape(system) if system is not None and system_of(said) is not system else None


def other_room_tape(system: System) -> Doubt:
    """A room is measured on one tape, `system`: the question names both."""
    return Doubt(f"mixed_units_in_{'feet' if system is System.IMPERIAL else 'metres'}", refused=True)


def unlike(length: Length, expected: Length) -> bool:
    """Does a side or a diagonal differ from what a square room has by more than is let pass without asking?"""
    off = max(length, expected) - min(length, expected)
    return off > expected * (trade.SECOND_SIDE_DOUBT.value / 100)


def reading(said: Quantity, system: System, pull: Pull, record: PullRecord) -> Doubt | None:
    """A movement of the mark at a pull."""
    if system_of(said) is not system:
        return _other_tape(system)
    moved = Length.of(said)
    if moved > _doubtful(pull):
        return Doubt("doubt_large", refused=False)
    if record.reading is not None and not record.slipped and moved < record.reading:
        return Doubt("doubt_smaller", refused=False)
    return None


def _other_tape(system: System) -> Doubt:
    """A room is measured on one tape, `system`: the question names both."""
    return Doubt(f"mixed_units_in_{'inches' if system is System.IMPERIAL else 'millimetres'}", refused=True)


def _doubtful(pull: Pull) -> Length:
    """Doubted above this: a maker may ask for more than the usual share."""
    usual = pull.stretched * (trade.READING_DOUBT.value / 100)
    if pull.band is None:
        return usual
    return max(usual, (pull.band.most or pull.band.least) * trade.READING_OVER_BAND.value)


def hold(said: Quantity, system: System, record: PullRecord) -> Doubt | None:
    """The measurement after hooking."""
    if system_of(said) is not system:
        return _other_tape(system)
    held, moved = Length.of(said), record.reading
    if moved is not None and held > moved:
        return Doubt("doubt_hold", refused=False)
    if moved is not None and moved - held > moved * trade.HOLD_LOSS_DOUBT.value:
        return Doubt("doubt_hold_lost", refused=False)
    return None


def head(said: Quantity, system: System) -> Doubt | None:
    """Distance of the head from the wall."""
    if system_of(said) is not system:
        return _other_tape(system)
    return Doubt("head_impossible", refused=True) if Length.of(said) > _HEAD_MOST else None


def figure(least: Fraction, most: Fraction | None, points: Fraction = Fraction(0)) -> Doubt | None:
    """A maker's figure, per cent, with the `points` of its pattern on top; the answer says what would be right."""
    highest = least if most is None else most
    if least <= 0:
        return Doubt("figure_of_nothing", refused=True)
    if highest < least:
        return Doubt("figure_reversed", refused=True)
    return Doubt("figure_too_large", refused=True) if highest + points > trade.FIGURE_MOST.value else None


def pattern(points: Fraction) -> Doubt | None:
    """What a pattern asks on top of the figure, percentage points."""
    if points <= 0:
        return Doubt("pattern_of_nothing", refused=True)
    return Doubt("pattern_too_large", refused=True) if points > trade.PATTERN_MOST.value else None


def condition(kind: str, said: Quantity) -> Doubt | None:
    """One of the day's conditions."""
    if kind not in POSSIBLE:
        return None
    least, most = POSSIBLE[kind]
    return None if least <= _measured(kind, said) <= most else Doubt(f"{kind}_impossible", refused=True)


POSSIBLE: dict[str, tuple[Fraction, Fraction]] = {
    "temperature": (trade.TEMPERATURE_POSSIBLE_LEAST.value, trade.TEMPERATURE_POSSIBLE_MOST.value),
    "humidity": (Fraction(0), Fraction(100)),
    "cushion": (Fraction(0), trade.CUSHION_POSSIBLE.value),
    "gully": (Fraction(0), trade.GULLY_POSSIBLE.value),
    "slab_humidity": (Fraction(0), Fraction(100)),
    "slab_ph": (Fraction(0), trade.PH_POSSIBLE.value),
}
"""Least and most that can be, in degrees Fahrenheit, per cent, inches or pH; hours unrolled may be any."""


def _measured(kind: str, said: Quantity) -> Fraction:
    if kind == "temperature":
        return fahrenheit(said)
    return Length.of(said).inches if said.unit in ("in", "mm") else said.value
