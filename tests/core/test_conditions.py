"""The day's conditions against the published limits."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from assistant.core import conditions
from assistant.core.meaning import Quantity

AMBIENT = "CRI 105 (2015) s.7.2"
EARLIER = "CRI 105 (1994) s.5.2"
REGISTRY = UnitRegistry(autoconvert_offset_to_baseunit=True)
UNROLLED = "CRI Carpet Installation Standard (2011) s.10"


@pytest.mark.parametrize(
    ("kind", "value", "unit", "text", "source"),
    [
        pytest.param("temperature", "49", "F", "never below 50 F", AMBIENT, id="never below 50 F [published]"),
        pytest.param("temperature", "50", "F", "at least 65 F", AMBIENT, id="50 F [published]"),
        pytest.param("temperature", "64", "F", "at least 65 F", AMBIENT, id="65 F least [published]"),
        pytest.param("temperature", "96", "F", "at most 95 F", AMBIENT, id="95 F most [published]"),
        pytest.param("temperature", "18", "C", "64.4 F: at least 65 F", AMBIENT, id="18 C [published, derived]"),
        pytest.param("humidity", "66", "pct", "at most 65 %", AMBIENT, id="65 % most [published]"),
        pytest.param("humidity", "9", "pct", "at least 10 %", EARLIER, id="10 % least [second hand]"),
        pytest.param("unrolled", "23", "h", "at least 24 h", UNROLLED, id="24 h [published]"),
    ],
)
def test_outside_a_limit(kind: str, value: str, unit: str, text: str, source: str) -> None:
    (caution,) = conditions.cautions({kind: Quantity(Fraction(value), unit)})
    assert (caution.about, caution.source) == (kind, source)
    assert text in caution.text


@pytest.mark.parametrize(
    ("kind", "value", "unit"),
    [
        ("temperature", 65, "F"),
        ("temperature", 95, "F"),
        ("temperature", 35, "C"),
        ("humidity", 10, "pct"),
        ("humidity", 65, "pct"),
        ("unrolled", 24, "h"),
    ],
)
def test_on_the_limit_is_inside(kind: str, value: int, unit: str) -> None:
    assert conditions.cautions({kind: Quantity(Fraction(value), unit)}) == ()


def test_skipped_ones_are_not_recorded() -> None:
    found = conditions.cautions(dict.fromkeys(conditions.KINDS))
    assert [each.text for each in found] == [f"{kind}: not recorded" for kind in conditions.KINDS]


@given(st.integers(-40, 120))
def test_fahrenheit_agrees_with_pint(celsius: int) -> None:
    expected = REGISTRY.Quantity(float(celsius), "degC").to("degF").magnitude
    assert float(conditions.fahrenheit(Quantity(Fraction(celsius), "C"))) == pytest.approx(expected)
