"""Reads the day's conditions from a table of a room file."""

import re
from collections.abc import Callable
from fractions import Fraction

from assistant.core import conditions, plausible
from assistant.core.conditions import Noted
from assistant.core.length import System
from assistant.core.meaning import Quantity
from assistant.exits import Exit, Refusal
from assistant.typed import Table
from assistant.units import read_length
from assistant.wording import messages

_FIGURE = re.compile(r"\s*(-?\d{1,4}(?:\.\d{1,3})?)\s*(\S{0,3})\s*")
_UNITS = {
    "temperature": {"F": "F", "°F": "F", "C": "C", "°C": "C"},
    "humidity": {"%": "pct"},
    "unrolled": {"h": "h"},
    "slab_humidity": {"%": "pct"},
    "slab_ph": {"": "pH", "pH": "pH"},
}
_EXAMPLES = {
    "temperature": "'70 F' or '21 C'",
    "humidity": "'45 %'",
    "unrolled": "'30 h'",
    "cushion": "'7/16 in', '11 mm' or 'no_cushion'",
    "strip": "'one_row', 'two_rows' or 'wide'",
    "gully": "'3/8 in' or '9 mm'",
    "slab_humidity": "'70 %' or 'no_slab'",
    "slab_ph": "'8.5'",
}
_WORDS = {"cushion": ("no_cushion",), "strip": ("one_row", "two_rows", "wide"), "slab_humidity": ("no_slab",)}


def read_conditions(table: Table) -> dict[str, Noted]:
    """What the table says of each kind. Raises Refusal naming key, value and what would be right."""
    found = {kind: table.read(kind, _reader(kind), _EXAMPLES[kind]) for kind in conditions.KINDS}
    table.done()
    return {kind: noted for kind, noted in found.items() if noted is not None}


def _reader(kind: str) -> Callable[[str], Noted]:
    def read(text: str) -> Noted:
        if text in _WORDS.get(kind, ()):
            return Noted(word=text)
        quantity = _quantity(kind, text)
        doubt = plausible.condition(kind, quantity)
        if doubt is not None:
            raise Refusal(Exit.BAD_SIZE, messages()[doubt.why][1])
        return Noted(quantity)

    return read


def _quantity(kind: str, text: str) -> Quantity:
    if kind in ("cushion", "gully"):
        length, system = read_length(text)
        return Quantity(length.inches, "in") if system is System.IMPERIAL else Quantity(length.mm, "mm")
    found = _FIGURE.fullmatch(text)
    unit = _UNITS.get(kind, {}).get(found.group(2)) if found else None
    if found is None or unit is None:
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}' is none")
    return Quantity(Fraction(found.group(1)), unit)
