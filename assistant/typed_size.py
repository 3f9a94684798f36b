"""Typed sizes and figures, at the border: what a room side and a maker's figure may be."""

import re
from fractions import Fraction

from assistant.core import plausible, trade
from assistant.core.band import Figure
from assistant.core.length import Length, System, feet, tape
from assistant.core.meaning import Quantity
from assistant.exits import Exit, Refusal
from assistant.units import read_length
from assistant.wording import messages


def read_sides(length: str, width: str) -> tuple[Length, Length, System]:
    """Two typed sides of a room on one tape. Raises Refusal (BAD_SIZE)."""
    first, system = read_side(length, None)
    return first, read_side(width, system)[0], system


def read_side(text: str, before: System | None) -> tuple[Length, System]:
    """One side; `before` is the tape of the side before it. Raises Refusal (BAD_SIZE)."""
    length, system = read_length(text)
    said = Quantity(length.inches, "in") if system is System.IMPERIAL else Quantity(length.mm, "mm")
    doubt = plausible.side(length, said, before)
    if doubt is not None:
        raise Refusal(Exit.BAD_SIZE, f"'{text}': {messages()[doubt.why][1]}{_cure(doubt.why, system)}")
    return length, system


def _cure(why: str, system: System) -> str:
    if why.startswith("mixed_units"):
        return ""  # says it already
    least, most = (tape(feet(each.value), system) for each in (trade.ROOM_SIDE_LEAST, trade.ROOM_SIDE_MOST))
    return f" A side has {least} to {most}."


_FIGURE = re.compile(r"\s*(\d{1,9}(?:[./]\d{1,9})?|\.\d{1,9})\s*%?\s*")


def read_figure(text: str | None) -> Figure | None:
    """A typed maker's figure, '1' or '1-1.5' per cent. Raises Refusal (BAD_SIZE) for what cannot be."""
    if text is None:
        return None
    try:
        least, *rest = (_per_cent(each) for each in text.split("-"))
        (most,) = rest or (None,)
    except (ValueError, ZeroDivisionError):
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}' is no figure; write '1' or '1-1.5' per cent") from None
    if plausible.figure(least, most) is not None:
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}': least must be above 0, most at least that, at most 10 per cent")
    return Figure(least, most, from_maker=True)


def read_points(text: str) -> Fraction:
    """What a pattern asks on top, percentage points. Raises Refusal (BAD_SIZE)."""
    try:
        points = _per_cent(text)
    except (ValueError, ZeroDivisionError):
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}' is no figure; write '0.25' per cent") from None
    doubt = plausible.pattern(points)
    if doubt is not None:
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}': {messages()[doubt.why][1]}")
    return points


def _per_cent(text: str) -> Fraction:
    found = _FIGURE.fullmatch(text)
    if found is None:
        raise ValueError(text)
    return Fraction(found.group(1))
