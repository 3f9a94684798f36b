"""Typed lengths at the border, against pint and the exact definitions."""

from fractions import Fraction

import pint
import pytest

from assistant.core.length import Length, System, feet, inches, millimetres
from assistant.exits import Exit, Refusal
from assistant.units import _USUAL, read_length

IMPERIAL, METRIC = System.IMPERIAL, System.METRIC


@pytest.mark.parametrize(
    ("text", "length", "system"),
    [
        ("16 ft 2 in", feet(16, 2), IMPERIAL),
        ("12 ft 3 5/8 in", feet(12, "29/8"), IMPERIAL),
        ("12 ft 3-5/8 in", feet(12, "29/8"), IMPERIAL),
        ("12' 3 5/8\"", feet(12, "29/8"), IMPERIAL),
        ("12′ 3 5/8″", feet(12, "29/8"), IMPERIAL),
        ("16 ft. 2 in.", feet(16, 2), IMPERIAL),
        ("16ft2in", feet(16, 2), IMPERIAL),
        ("16 feet, 2 inches", feet(16, 2), IMPERIAL),
        ("3/8 in", inches("3/8"), IMPERIAL),
        (".5 in", inches("1/2"), IMPERIAL),
        ("4 yd", feet(12), IMPERIAL),
        ("3.642 m", millimetres(3642), METRIC),
        ("364.2 CM", millimetres(3642), METRIC),
        ("3 metres 64 cm", millimetres(3640), METRIC),
        ("  38 mm ", millimetres(38), METRIC),
    ],
)
def test_reads(text: str, length: Length, system: System) -> None:
    assert read_length(text) == (length, system)


@pytest.mark.parametrize("unit", ["ft", "in", "yd", "m", "cm", "mm", "dm"])
def test_factors_agree_with_pint(unit: str) -> None:
    """NIST SP 811 / Handbook 44 [published]: foot 0.3048 m, inch 25.4 mm exactly."""
    reference = pint.UnitRegistry().Quantity(7.0, unit).to("inch").magnitude
    assert float(read_length(f"7 {unit}")[0].inches) == pytest.approx(reference, rel=1e-12)
    exact = {"ft": 12, "in": 1, "yd": 36, "m": Fraction(10000, 254), "cm": Fraction(100, 254), "mm": Fraction(10, 254)}
    assert read_length(f"7 {unit}")[0].inches == 7 * exact.get(unit, Fraction(1000, 254))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "'' is no length"),
        ("16", "'16' is no length"),
        ("sixteen feet", "'sixteen feet' is no length"),
        ("16 ft 2", "'16 ft 2' is no length"),
        ("16 ft x 12 ft", "'16 ft x 12 ft' is no length"),
        ("3,5 m", "'3,5 m' is no length"),
        ("5/0 in", "'5/0 in' is no length"),
        ("9" * 5000 + " ft", "is no length"),
        ("-4 ft", "'-4 ft': a length cannot be negative"),
        ("−4 ft", "a length cannot be negative"),
        ("0 ft", "'0 ft': a length cannot be zero"),
        ("16 furlong", "'16 furlong': unknown unit 'furlong'; use ft, in, yd, m, cm or mm"),
        ("16 blorp", "unknown unit 'blorp'"),
        ("16 kg", "unknown unit 'kg'"),
        ("16 ft 30 cm", "'16 ft 30 cm' mixes feet and metres"),
    ],
)
def test_refuses_in_one_clear_line(text: str, message: str) -> None:
    with pytest.raises(Refusal) as told:
        read_length(text)
    assert told.value.code is Exit.BAD_SIZE
    assert message in told.value.line
    assert "\n" not in told.value.line


def test_the_usual_units_are_pints() -> None:
    """Outside source: pint's own registry."""
    registry = pint.UnitRegistry(non_int_type=Fraction)
    for unit, (factor, _) in _USUAL.items():
        assert registry.Quantity(Fraction(1), unit).to("inch").magnitude == factor
