"""The day's conditions against the published limits: cautions, never a block."""

from collections.abc import Mapping
from fractions import Fraction

from assistant.core import trade
from assistant.core.meaning import Quantity
from assistant.core.plan import Caution
from assistant.core.trade import Constant

KINDS = ("temperature", "humidity", "unrolled")
"""In the order they are asked."""


def fahrenheit(quantity: Quantity) -> Fraction:
    """A temperature in degrees Fahrenheit, exact."""
    return quantity.value * Fraction(9, 5) + 32 if quantity.unit == "C" else quantity.value


def cautions(noted: Mapping[str, Quantity | None]) -> tuple[Caution, ...]:
    """One caution per condition outside its limit; a skipped one is said to be not recorded."""
    found = [_not_recorded(kind) for kind, quantity in noted.items() if quantity is None]
    given = {kind: quantity for kind, quantity in noted.items() if quantity is not None}
    if "temperature" in given:
        found += _temperature(fahrenheit(given["temperature"]))
    if "humidity" in given:
        found += _humidity(given["humidity"].value)
    if "unrolled" in given and given["unrolled"].value < trade.UNROLLED_LEAST.value:
        hours = given["unrolled"].value
        found.append(_outside("unrolled", f"unrolled for {hours} h, at least 24 h asked", trade.UNROLLED_LEAST))
    return tuple(found)


def _temperature(degrees: Fraction) -> list[Caution]:
    shown = f"{float(degrees):g} F"
    if degrees < trade.AMBIENT_NEVER_BELOW.value:
        return [_outside("temperature", f"{shown}: never below 50 F", trade.AMBIENT_NEVER_BELOW)]
    if degrees < trade.AMBIENT_LEAST.value:
        return [_outside("temperature", f"{shown}: at least 65 F asked", trade.AMBIENT_LEAST)]
    if degrees > trade.AMBIENT_MOST.value:
        return [_outside("temperature", f"{shown}: at most 95 F asked", trade.AMBIENT_MOST)]
    return []


def _humidity(percent: Fraction) -> list[Caution]:
    if percent > trade.HUMIDITY_MOST.value:
        return [_outside("humidity", f"{percent} % humidity: at most 65 % asked", trade.HUMIDITY_MOST)]
    if percent < trade.HUMIDITY_LEAST.value:
        return [_outside("humidity", f"{percent} % humidity: at least 10 % asked", trade.HUMIDITY_LEAST)]
    return []


def _outside(kind: str, text: str, limit: Constant) -> Caution:
    return Caution(kind, text, limit.source)


def _not_recorded(kind: str) -> Caution:
    return Caution(kind, f"{kind}: not recorded", "skipped by the installer")
