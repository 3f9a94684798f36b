"""Typed lengths, at the border: pint knows the units, the core gets exact lengths."""

import re
from fractions import Fraction
from functools import cache
from typing import Any

from assistant.core.length import Length, System
from assistant.exits import Exit, Refusal

_PIECE = re.compile(r"(\d+(?:\.\d+)?(?:\s+\d+/\d+|-\d+/\d+)?|\d+/\d+|\.\d+)\s*([A-Za-z]+)\.?")
_METRIC = {"meter", "centimeter", "millimeter", "decimeter"}
_IMPERIAL = {"foot", "inch", "yard"}
_USUAL = {
    "ft": (Fraction(12), System.IMPERIAL),
    "in": (Fraction(1), System.IMPERIAL),
    "m": (Fraction(5000, 127), System.METRIC),
    "cm": (Fraction(50, 127), System.METRIC),
    "mm": (Fraction(5, 127), System.METRIC),
}
"""Inches in each of the usual units, exact; for them pint, which would keep the first question back, is not loaded."""
_LONGEST = 60
"""Characters; no tape needs more, and a longer text would take long to look through."""
_EXAMPLE = "write it like '16 ft 2 in', '12 ft 3 5/8 in' or '4.92 m'"


@cache
def _registry() -> Any:
    import pint  # half a second to import: only where a length is typed

    return pint.UnitRegistry(non_int_type=Fraction)


def read_length(text: str) -> tuple[Length, System]:
    """A typed length and the tape it belongs to: '16 ft 2 in', 12' 3 5/8", '3.642 m', '38 mm'.

    Raises Refusal (BAD_SIZE) for no number, an unknown unit, feet and metres in one length, zero and negative lengths.
    """
    if len(text) > _LONGEST:
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}...' is no length; {_EXAMPLE}")
    plain = text.strip().replace("'", " ft ").replace('"', " in ").replace("′", " ft ").replace("″", " in ")
    if plain.startswith(("-", "−")):
        raise Refusal(Exit.BAD_SIZE, f"'{text}': a length cannot be negative; {_EXAMPLE}")
    pieces = _PIECE.findall(plain)
    if not pieces or _PIECE.sub("", plain).strip(" ,"):
        raise Refusal(Exit.BAD_SIZE, f"'{text}' is no length; {_EXAMPLE}")
    sizes = [_size(number, unit, text) for number, unit in pieces]
    systems = {system for _, system in sizes}
    if len(systems) > 1:
        raise Refusal(Exit.BAD_SIZE, f"'{text}' mixes feet and metres; use one tape for the whole room")
    total = Length(sum((inches for inches, _ in sizes), Fraction(0)))
    if not total.inches:
        raise Refusal(Exit.BAD_SIZE, f"'{text}': a length cannot be zero; {_EXAMPLE}")
    return total, systems.pop()


def _size(number: str, unit: str, text: str) -> tuple[Fraction, System]:
    name = "" if unit in _USUAL else _unit_name(unit, text)
    try:
        value = sum((Fraction(each) for each in re.split(r"[\s-]+", number)), Fraction(0))
    except ZeroDivisionError as error:  # a fraction of nothing
        raise Refusal(Exit.BAD_SIZE, f"'{text}' is no length; {_EXAMPLE}") from error
    if unit in _USUAL:
        factor, system = _USUAL[unit]
        return value * factor, system
    inches = _registry().Quantity(value, name).to("inch").magnitude
    return Fraction(inches), System.METRIC if name in _METRIC else System.IMPERIAL


def _unit_name(unit: str, text: str) -> str:
    try:
        name = str(_registry().get_name(unit.lower()))
    except AttributeError:  # pint's UndefinedUnitError is one
        name = ""
    if name not in _METRIC | _IMPERIAL:
        raise Refusal(Exit.BAD_SIZE, f"'{text}': unknown unit '{unit}'; use ft, in, yd, m, cm or mm")
    return name
