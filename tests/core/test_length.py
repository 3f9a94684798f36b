"""Lengths: exact arithmetic, rounding, and how they are written on a tape."""

import re
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.length import ZERO, Length, System, feet, inches, millimetres, system_of, tape
from assistant.core.meaning import Quantity
from assistant.units import read_length

any_length = st.fractions(min_value=0, max_value=1300, max_denominator=400).map(Length)
any_system = st.sampled_from(System)


@pytest.mark.parametrize(
    ("unit", "inch"),
    [("inch", Fraction(1)), ("foot", Fraction(12)), ("millimeter", Fraction(10, 254)), ("meter", Fraction(10000, 254))],
)
def test_unit_factors_agree_with_pint(unit: str, inch: Fraction) -> None:
    registry = pint.UnitRegistry(non_int_type=Fraction)
    assert registry.Quantity(Fraction(1), unit).to("inch").magnitude == inch
    ours = {"inch": inches(1), "foot": feet(1), "millimeter": millimetres(1), "meter": millimetres(1000)}
    assert ours[unit].inches == inch


def test_foot_and_inch_are_exact() -> None:
    """NIST SP 811 / Handbook 44 [published]: 1 ft = 0.3048 m, 1 in = 25.4 mm exactly."""
    assert feet(1).mm == Fraction("304.8")
    assert inches(1).mm == Fraction("25.4")


def test_arithmetic_is_exact() -> None:
    third = Length(Fraction(1, 3))
    assert third + third + third == inches(1)
    assert inches(1) - third == third * 2
    assert feet(1, "1/2").per(inches(1)) == Fraction(25, 2)


@pytest.mark.parametrize(
    ("said", "expected", "system"),
    [
        (Quantity(Fraction(3, 8), "in"), inches("3/8"), System.IMPERIAL),
        (Quantity(Fraction(254), "mm"), inches(10), System.METRIC),
    ],
)
def test_a_spoken_length_keeps_its_tape(said: Quantity, expected: Length, system: System) -> None:
    assert Length.of(said) == expected
    assert system_of(said) is system


@pytest.mark.parametrize(
    ("length", "system", "written"),
    [
        (feet(12, "29/8"), System.IMPERIAL, "12 ft 3 5/8 in"),
        (inches("9/16"), System.IMPERIAL, "9/16 in"),
        (feet(11, "1/2"), System.IMPERIAL, "11 ft 1/2 in"),
        (feet(11), System.IMPERIAL, "11 ft"),
        (inches(4), System.IMPERIAL, "4 in"),
        (ZERO, System.IMPERIAL, "0 in"),
        (inches("127/128"), System.IMPERIAL, "1 in"),
        (inches("31/32"), System.IMPERIAL, "31/32 in"),
        (feet(12, "1/64"), System.IMPERIAL, "12 ft 1/64 in"),
        (feet(12, "6/5"), System.IMPERIAL, "12 ft 1.2 in"),
        (ZERO - inches("3/8"), System.IMPERIAL, "-3/8 in"),
        (millimetres(38), System.METRIC, "38 mm"),
        (millimetres(3642), System.METRIC, "3.642 m"),
        (millimetres(10000), System.METRIC, "10 m"),
        (millimetres(999), System.METRIC, "999 mm"),
        (ZERO, System.METRIC, "0 mm"),
        (millimetres("35.9"), System.METRIC, "35.9 mm"),
        (millimetres("0.5"), System.METRIC, "0.5 mm"),
        (millimetres("999.9"), System.METRIC, "999.9 mm"),
        (millimetres("3642.5"), System.METRIC, "3.6425 m"),
        (millimetres("3000.1"), System.METRIC, "3.0001 m"),
        (millimetres("35.94"), System.METRIC, "36 mm"),
    ],
)
def test_written_as_on_a_tape(length: Length, system: System, written: str) -> None:
    assert tape(length, system) == written


@given(any_length, any_system)
def test_rounding_encloses(length: Length, system: System) -> None:
    for step in (system.graduation, system.position_step):
        low, high, near = length.down_to(step), length.up_to(step), length.nearest(step)
        assert low <= length <= high
        assert high - low in (ZERO, step)
        assert near in (low, high)
        assert max(near - length, length - near) * 2 <= step
        assert all(each.per(step).denominator == 1 for each in (low, high, near))


@given(any_system, st.integers(1, 40000))
def test_what_is_written_reads_back(system: System, marks: int) -> None:
    length = system.graduation * marks
    assert read_length(tape(length, system)) == (length, system)


@given(st.integers(0, 400_000))
def test_what_was_said_finer_than_the_tape_is_written_as_it_was_said(tenths: int) -> None:
    said = millimetres(Fraction(tenths, 10))
    assert tape(said, System.METRIC) == "0 mm" or read_length(tape(said, System.METRIC)) == (said, System.METRIC)
    fine = Length(Fraction(tenths, 64))
    assert tape(fine, System.IMPERIAL) == "0 in" or read_length(tape(fine, System.IMPERIAL)) == (fine, System.IMPERIAL)


def test_halves_go_up() -> None:
    assert inches("1/32").nearest(System.IMPERIAL.graduation) == inches("1/16")


def test_positions_are_called_to_half_an_inch_or_a_centimetre() -> None:
    assert System.IMPERIAL.position_step == inches("1/2")
    assert System.METRIC.position_step == millimetres(10)
    assert re.fullmatch(r"\d+ in", tape(System.IMPERIAL.position_step * 2, System.IMPERIAL))
