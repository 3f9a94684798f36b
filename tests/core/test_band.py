"""Bands against figures from outside; tags: [published], [second hand], [consumer], [practice], [derived]."""

from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.band import (
    DEFAULT_FIGURE,
    Band,
    Construction,
    Figure,
    Verdict,
    as_judged,
    band,
    figure_for,
    judge,
    percent,
    share_as_judged,
)
from assistant.core.length import ZERO, Length, System, feet, inches, millimetres, tape

IMPERIAL, METRIC = System.IMPERIAL, System.METRIC
CRI = "CRI Carpet Installation Standard (2011) s.16.5.2 [published]"
MAGAZINE = "Floor Covering Installer, 12 ft [published], tape [derived]"

ROWS = [
    pytest.param(feet(8), "0.96", "1.44", "1 in", "1 7/16 in", id="8 ft [derived]"),
    pytest.param(feet(10), "1.20", "1.80", "1 1/4 in", "1 3/4 in", id="10 ft [derived]"),
    pytest.param(feet(12), "1.44", "2.16", "1 1/2 in", "2 1/8 in", id=MAGAZINE),
    pytest.param(feet(12, "29/8"), "1.47625", "2.214375", "1 1/2 in", "2 3/16 in", id="12 ft 3 5/8 in [derived]"),
    pytest.param(feet(14, 6), "1.74", "2.61", "1 3/4 in", "2 9/16 in", id="14 ft 6 in [derived]"),
    pytest.param(feet(16), "1.92", "2.88", "1 15/16 in", "2 7/8 in", id="16 ft [derived]; about 2 in [consumer]"),
    pytest.param(feet(20), "2.40", "3.60", "2 7/16 in", "3 9/16 in", id="20 ft [derived]"),
    pytest.param(feet(30), "3.60", "5.40", "3 5/8 in", "5 3/8 in", id="30 ft [derived]"),
]


@pytest.mark.parametrize(("span", "least", "most", "tape_least", "tape_most"), ROWS)
def test_band_table(span: Length, least: str, most: str, tape_least: str, tape_most: str) -> None:
    found = band(span, DEFAULT_FIGURE, IMPERIAL)
    assert found.most is not None and found.tape_most is not None
    assert (found.least, found.most) == (Length(Fraction(least)), Length(Fraction(most)))
    assert (tape(found.tape_least, IMPERIAL), tape(found.tape_most, IMPERIAL)) == (tape_least, tape_most)
    assert not found.empty


@pytest.mark.parametrize(
    ("metres", "least", "most"), [(4, 40, 60), (5, 50, 75)], ids=["4 m [derived]", "5 m [derived]"]
)
def test_metric_band_table(metres: int, least: int, most: int) -> None:
    found = band(millimetres(metres * 1000), DEFAULT_FIGURE, METRIC)
    assert found == Band(millimetres(least), millimetres(most), millimetres(least), millimetres(most))


def test_the_default_is_the_standards_floor_and_the_second_hand_ceiling() -> None:
    """CRI 2011 s.16.5.2 [published]: at least 1 %; CRI 104/105 by way of a trade magazine [second hand]: to 1.5 %."""
    assert Figure(Fraction(1), Fraction(3, 2), from_maker=False) == DEFAULT_FIGURE


def test_nearest_rounding_would_miss_the_floor_on_ten_feet() -> None:
    """[derived]: 1 3/16 in is 0.990 % of 10 ft, below the floor; hence least is rounded up."""
    nearest = inches("19/16")
    assert round(float(percent(nearest, feet(10))), 3) == 0.990
    assert judge(nearest, band(feet(10), DEFAULT_FIGURE, IMPERIAL)) is Verdict.SHORT


def test_a_room_of_100_by_200_inches() -> None:
    """Consumer guide [consumer]: the carpet is at least 101 x 202 in."""
    for side in (100, 200):
        assert inches(side) + band(inches(side), DEFAULT_FIGURE, IMPERIAL).least == inches(Fraction(side * 101, 100))


@pytest.mark.parametrize(
    ("span", "moved", "share", "verdict"),
    [
        pytest.param(feet(1), "1/8", "1.0417", Verdict.IN_BAND, id="1/8 in per foot [derived; rule unsourced]"),
        pytest.param(feet(1), "3/16", "1.5625", Verdict.OVER, id="3/16 in per foot [derived]"),
        pytest.param(feet(14), "3/2", "0.893", Verdict.SHORT, id="14 ft, 1 1/2 in [practice, derived]"),
        pytest.param(feet(14), "15/8", "1.116", Verdict.IN_BAND, id="14 ft, 1 7/8 in [derived]"),
        pytest.param(feet(14), "13/8", "0.967", Verdict.SHORT, id="14 ft, 1 7/8 less 1/4 fall-back [derived]"),
    ],
)
def test_rules_of_thumb(span: Length, moved: str, share: str, verdict: Verdict) -> None:
    shown = percent(inches(moved), span)
    places = len(share.split(".")[1])
    assert round(float(shown), places) == float(share)
    assert judge(inches(moved), band(span, DEFAULT_FIGURE, IMPERIAL)) is verdict


@pytest.mark.parametrize("construction", Construction)
def test_the_makers_figure_governs(construction: Construction) -> None:
    """CRI 2011 s.16.5.2 [published]: the maker's figure governs."""
    figure = Figure(Fraction(2), None, from_maker=True)
    assert figure_for(construction, figure) is figure


def test_only_tufted_synthetic_has_a_default() -> None:
    """Woven may not stretch in width at all (Floor Covering Installer [published]); jute ... no figure found."""
    with_default = [each for each in Construction if figure_for(each, None) is not None]
    assert with_default == [Construction.TUFTED_SYNTHETIC]


def test_verdicts_at_the_exact_limits() -> None:
    limits = band(feet(12), DEFAULT_FIGURE, IMPERIAL)
    hair = Length(Fraction(1, 10**9))
    assert limits.most is not None
    assert judge(limits.least, limits) is Verdict.IN_BAND
    assert judge(limits.least - hair, limits) is Verdict.SHORT
    assert judge(limits.most, limits) is Verdict.IN_BAND
    assert judge(limits.most + hair, limits) is Verdict.OVER
    assert judge(limits.most, None) is Verdict.NONE


def test_without_an_upper_figure_nothing_is_over() -> None:
    limits = band(feet(12), Figure(Fraction(1), None, from_maker=True), IMPERIAL)
    assert (limits.most, limits.tape_most, limits.empty) == (None, None, False)
    assert judge(feet(6), limits) is Verdict.IN_BAND


def test_a_band_between_two_marks_is_empty() -> None:
    limits = band(feet(12), Figure(Fraction(1), Fraction("1.01"), from_maker=True), IMPERIAL)
    assert limits.empty


shares = st.fractions(min_value=Fraction(1, 100), max_value=10, max_denominator=100)
spans = st.integers(1, 19200).map(lambda marks: inches(Fraction(marks, 16))) | st.integers(1, 30480).map(millimetres)


@given(spans, shares, shares, st.sampled_from(System))
def test_the_spoken_band_is_inside_the_exact_one(span: Length, one: Fraction, two: Fraction, system: System) -> None:
    limits = band(span, Figure(min(one, two), max(one, two), from_maker=True), system)
    assert limits.most is not None and limits.tape_most is not None
    assert ZERO <= limits.tape_least - limits.least < system.graduation
    assert ZERO <= limits.most - limits.tape_most < system.graduation
    if not limits.empty:
        assert judge(limits.tape_least, limits) is Verdict.IN_BAND
        assert judge(limits.tape_most, limits) is Verdict.IN_BAND
    assert judge(limits.tape_least - system.graduation, limits) is Verdict.SHORT
    assert judge(limits.tape_most + system.graduation, limits) is Verdict.OVER


@given(st.integers(1, 19200))
def test_agrees_with_whole_sixteenths_and_with_decimals(sixteenths: int) -> None:
    limits = band(inches(Fraction(sixteenths, 16)), DEFAULT_FIGURE, IMPERIAL)
    assert limits.tape_most is not None
    counted = (-(-sixteenths // 100), sixteenths * 15 // 1000)
    assert (limits.tape_least.inches * 16, limits.tape_most.inches * 16) == counted
    marks = Decimal(sixteenths)
    least = (marks * Decimal("0.01")).to_integral_value(ROUND_CEILING)
    most = (marks * Decimal("0.015")).to_integral_value(ROUND_FLOOR)
    assert (limits.tape_least.inches * 16, limits.tape_most.inches * 16) == (least, most)


# --- What the report shows of a computed outcome -----------------------------------------------------------------


TWELVE = band(feet(12), DEFAULT_FIGURE, System.IMPERIAL)
"""1.44 to 2.16 in."""


@pytest.mark.parametrize(
    ("moved", "least", "most", "written", "share"),
    [
        ("1.431", "1.44", "2.16", "1 7/16 in", "0.99"),  # 1.4375, and the share as it is
        ("1.4399", "1.44", "2.16", "1 7/16 in", "0.99"),  # 0.99993 % would round to the least
        ("1.467", "1.465", "2.16", "1 1/2 in", "1.02"),  # 1 7/16 would be short
        ("2.181", "1.44", "2.16", "2 3/16 in", "1.51"),
        ("2.161", "1.44", "2.16", "2 3/16 in", "1.51"),  # 2 1/8 and 1.50 % would be in band
        ("1.701", "1.44", "2.16", "1 11/16 in", "1.18"),
        ("1.463", "1.455", "1.47", "1 15/32 in", "1.02"),  # between two marks of the tape
        ("1.4563", "1.4563", "1.4563", "1 7/16 in", "1.01"),  # nothing has that verdict: as near as can be
        ("1.45", "1.46", "2.16", "1.45 in", "1.01"),  # as it was said
    ],
)
def test_no_outcome_is_rounded_into_another_verdict(
    moved: str, least: str, most: str, written: str, share: str
) -> None:
    asked = replace(TWELVE, least=inches(least), most=inches(most))
    shown = as_judged(inches(moved), asked, System.IMPERIAL)
    assert tape(shown, System.IMPERIAL) == written
    assert f"{float(share_as_judged(inches(moved), feet(12), asked)):.2f}" == share


def test_without_a_band_it_is_the_nearest_mark() -> None:
    assert as_judged(inches("1.473"), None, System.IMPERIAL) == inches("3/2")
    assert share_as_judged(inches("1.473"), feet(12), None) == Fraction("1.02")


@given(st.fractions(min_value=0, max_value=4, max_denominator=5000), st.sampled_from(System))
def test_the_shown_outcome_has_the_verdict_of_the_true_one(moved: Fraction, system: System) -> None:
    found, true = Length(moved), band(feet(12), DEFAULT_FIGURE, system)
    assert judge(as_judged(found, true, system), true) is judge(found, true)
    share = share_as_judged(found, feet(12), true)
    assert judge(feet(12) * (share / 100), true) is judge(found, true)
    assert abs(share - percent(found, feet(12))) <= Fraction(1, 100)
