"""Exact lengths, and the tape they are read on.

An international foot is 0.3048 m and an inch 25.4 mm exactly (NIST SP 811, NIST Handbook 44).
"""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from assistant.core.meaning import Quantity

MM_PER_INCH = Fraction(254, 10)


class System(Enum):
    """The tape in use."""

    IMPERIAL = "imperial"
    """Graduated in sixteenths of an inch."""
    METRIC = "metric"
    """Graduated in millimetres."""

    @property
    def graduation(self) -> "Length":
        """The finest mark on the tape."""
        return Length(Fraction(1, 16)) if self is System.IMPERIAL else Length(1 / MM_PER_INCH)

    @property
    def finest(self) -> "tuple[Length, ...]":
        """Finer than its marks people still say and type: tenths of a millimetre, sixty-fourths and hundredths."""
        return _FINEST[self]

    @property
    def position_step(self) -> "Length":
        """Positions are called out to this: half an inch, or a centimetre."""
        return Length(Fraction(1, 2)) if self is System.IMPERIAL else Length(10 / MM_PER_INCH)


@dataclass(frozen=True, order=True)
class Length:
    """A length, exact."""

    inches: Fraction

    @classmethod
    def of(cls, quantity: Quantity) -> "Length":
        """A spoken length, unit 'in' or 'mm'."""
        return cls(quantity.value if quantity.unit == "in" else quantity.value / MM_PER_INCH)

    @property
    def mm(self) -> Fraction:
        """In millimetres, exact."""
        return self.inches * MM_PER_INCH

    def __add__(self, other: "Length") -> "Length":
        return Length(self.inches + other.inches)

    def __sub__(self, other: "Length") -> "Length":
        return Length(self.inches - other.inches)

    def __mul__(self, factor: Fraction | int) -> "Length":
        return Length(self.inches * factor)

    def per(self, other: "Length") -> Fraction:
        """How many of `other` this is."""
        return self.inches / other.inches

    def up_to(self, step: "Length") -> "Length":
        """Rounded up to a multiple of `step`."""
        part, whole = self._in(step)
        return step * -(-part // whole)

    def down_to(self, step: "Length") -> "Length":
        """Rounded down to a multiple of `step`."""
        part, whole = self._in(step)
        return step * (part // whole)

    def nearest(self, step: "Length") -> "Length":
        """The nearest multiple of `step`; halves go up."""
        part, whole = self._in(step)
        return step * ((2 * part + whole) // (2 * whole))

    def told(self, system: System) -> "Length":
        """As it is said and shown: to the nearest graduation, but what somebody said or typed finer is not rounded."""
        exact = any(self.per(step).denominator == 1 for step in system.finest)
        return self if exact else self.nearest(system.graduation)

    def _in(self, step: "Length") -> tuple[int, int]:
        # How many steps, as part / whole in whole numbers: plans ask too often for fractions.
        one, other = self.inches, step.inches
        return one.numerator * other.denominator, one.denominator * other.numerator


ZERO = Length(Fraction(0))
_FINEST = {
    System.IMPERIAL: (Length(Fraction(1, 64)), Length(Fraction(1, 100))),
    System.METRIC: (Length(Fraction(1, 254)),),
}


def inches(value: Fraction | int | str) -> Length:
    """A length in inches, exact: inches('12 3/8') is not read, inches('99/8') is."""
    return Length(Fraction(value))


def feet(whole: Fraction | int, rest: Fraction | int | str = 0) -> Length:
    """Feet and inches, exact."""
    return Length(Fraction(whole) * 12 + Fraction(rest))


def millimetres(value: Fraction | int | str) -> Length:
    """A length in millimetres, exact."""
    return Length(Fraction(value) / MM_PER_INCH)


def system_of(quantity: Quantity) -> System:
    """The tape a spoken length was read on."""
    return System.IMPERIAL if quantity.unit == "in" else System.METRIC


def tape(length: Length, system: System) -> str:
    """As written on a tape (see `Length.told`): '12 ft 3 5/8 in', '9/16 in', '3.642 m', '38 mm', '35.9 mm'."""
    if length < ZERO:
        return "-" + tape(ZERO - length, system)
    shown = length.told(system)
    return _feet_and_inches(shown.inches) if system is System.IMPERIAL else _metric(shown.mm)


def _feet_and_inches(value: Fraction) -> str:
    whole_feet, rest = divmod(value, 12)
    whole, part = divmod(rest, 1)
    pieces = [f"{whole_feet} ft"] if whole_feet else []
    if rest or not pieces:
        shown = " ".join(([str(whole)] if whole or not part else []) + ([str(part)] if part else []))
        pieces.append(f"{shown if 64 % part.denominator == 0 else f'{float(rest):g}'} in")
    return " ".join(pieces)


def _metric(mm: Fraction) -> str:
    return f"{float(mm):g} mm" if mm < 1000 else f"{float(mm / 1000):.7g} m"
