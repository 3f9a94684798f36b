"""A sentence to say and show, as data: a key of the messages and its figures."""

from dataclasses import dataclass
from fractions import Fraction

from assistant.core.length import Length

Value = Length | Fraction | int | str


@dataclass(frozen=True)
class Line:
    """One message; the words stand in assistant/messages."""

    key: str
    values: tuple[tuple[str, Value], ...] = ()
    """Figures by the name the message gives them."""


def line(key: str, **values: Value) -> Line:
    """line('short', missing=...)"""
    return Line(key, tuple(values.items()))
