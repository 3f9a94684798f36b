"""Figures, times and keys for the eye."""

from fractions import Fraction
from math import ceil

from assistant.core.length import Length, System, tape
from assistant.record.clock import ClockJump, moment


def words(key: str) -> str:
    """A key as words: 'no_strip' -> 'no strip'."""
    return key.replace("_", " ")


def number(value: Fraction, places: int = 2) -> str:
    """A figure: '1.06', '45'."""
    return f"{float(value):.{places}f}".rstrip("0").rstrip(".") if places else str(round(value))


def over(value: Fraction) -> str:
    """A figure beyond a limit: its size is rounded up, so that it never reads as being at the limit."""
    size = Fraction(ceil(abs(value) * 100), 100)
    return number(size if value > 0 else -size)


def percent_text(value: Fraction | None) -> str:
    """'1.06 %' or a dash."""
    return "–" if value is None else f"{float(value):.2f} %"


def tape_or_dash(length: Length | None, system: System) -> str:
    """As written on a tape, or a dash."""
    return "–" if length is None else tape(length, system)


def clock_time(wall: str) -> str:
    """The time of day of a row, to the second; the text itself where it is no time."""
    found = moment(wall)
    return found.strftime("%H:%M:%S") if found is not None else wall


def day_and_time(wall: str) -> str:
    """Date and time of a row: '2026-03-17 08:05'."""
    found = moment(wall)
    return found.strftime("%Y-%m-%d %H:%M") if found is not None else wall


def duration(seconds: float | None) -> str:
    """'1 h 04 min', '3 min 20 s', '6 s'; 'unknown' where the clocks cannot tell."""
    if seconds is None or seconds < 0:
        return "unknown"
    minutes, rest = divmod(round(seconds), 60)
    hours, left = divmod(minutes, 60)
    if hours:
        return f"{hours} h {left:02d} min"
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def clock_jump(jump: ClockJump) -> str:
    """'jumped forward by 1 h 00 min before row 119'."""
    if not jump.seconds:
        return f"cannot be read in row {jump.seq}"
    way = "forward" if jump.seconds > 0 else "back"
    return f"jumped {way} by {duration(abs(jump.seconds))} before row {jump.seq}"
