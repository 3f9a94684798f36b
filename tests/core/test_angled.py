"""Pulls that lean into a corner."""

from fractions import Fraction
from math import cos, radians, tan

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.angled import angled_path, angled_shift
from assistant.core.length import ZERO, feet, inches


def test_thirteen_feet_at_fifteen_degrees() -> None:
    """156 / cos 15 = 161.503 in [derived]."""
    assert round(float(angled_path(feet(13), Fraction(15)).inches), 3) == 161.503
    assert round(float(angled_shift(feet(13), Fraction(15)).inches), 3) == 41.800


def test_a_straight_pull_is_its_span() -> None:
    assert angled_path(feet(13), Fraction(0)) == feet(13)
    assert angled_shift(feet(13), Fraction(0)) == ZERO


@settings(deadline=None)
@given(st.integers(1, 1200), st.fractions(0, 44, max_denominator=10))
def test_path_and_shift_make_a_right_triangle(span: int, angle: Fraction) -> None:
    path, shift = angled_path(inches(span), angle).inches, angled_shift(inches(span), angle).inches
    assert path**2 == span**2 + shift**2, "exactly"
    assert abs(float(path) - span / cos(radians(angle))) < 1e-9 * span
    assert abs(float(shift) - span * tan(radians(angle))) < 1e-9 * span
