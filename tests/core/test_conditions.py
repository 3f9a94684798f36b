"""The day's conditions against the published limits (checks.md, 'Conditions'); the source stands beside each figure."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from assistant.core import conditions, trade
from assistant.core.band import Construction
from assistant.core.caution import Caution
from assistant.core.conditions import KINDS, Noted
from assistant.core.meaning import Quantity
from assistant.core.trade import Constant, Vouch

AMBIENT = "CRI 105 (2015) s.7.2"
EARLIER = "CRI 105 (1994) s.5.2"
REGISTRY = UnitRegistry(autoconvert_offset_to_baseunit=True)
UNROLLED = "CRI Carpet Installation Standard (2011) s.10"
STRIP = "CRI 105 s.11.1"
SLAB = "CRI Carpet Installation Standard (2011) s.9"
MOISTURE = "ASTM F2170 as asked by CRI 2011 s.9"
CUSHION = trade.CUSHION_MOST.source


def noted(value: str, unit: str) -> Noted:
    return Noted(Quantity(Fraction(value), unit))


@pytest.mark.parametrize(
    ("constant", "value", "unit", "source", "vouch"),
    [
        pytest.param(trade.AMBIENT_LEAST, "65", "F", AMBIENT, Vouch.PUBLISHED, id="ambient from [published]"),
        pytest.param(trade.AMBIENT_MOST, "95", "F", AMBIENT, Vouch.PUBLISHED, id="ambient to [published]"),
        pytest.param(trade.AMBIENT_NEVER_BELOW, "50", "F", AMBIENT, Vouch.PUBLISHED, id="never below [published]"),
        pytest.param(trade.HUMIDITY_MOST, "65", "pct", AMBIENT, Vouch.PUBLISHED, id="humidity [published]"),
        pytest.param(trade.HUMIDITY_LEAST, "10", "pct", EARLIER, Vouch.SECOND_HAND, id="humidity [second hand]"),
        pytest.param(trade.CLIMATE_BEFORE, "48", "h", AMBIENT, Vouch.PUBLISHED, id="held before [published]"),
        pytest.param(trade.CLIMATE_AFTER, "72", "h", AMBIENT, Vouch.PUBLISHED, id="held after [published]"),
        pytest.param(trade.UNROLLED_LEAST, "24", "h", UNROLLED, Vouch.PUBLISHED, id="unrolled from [published]"),
        pytest.param(trade.UNROLLED_MOST, "72", "h", UNROLLED, Vouch.PUBLISHED, id="unrolled to [published]"),
        pytest.param(trade.CUSHION_MOST, "7/16", "in", CUSHION, Vouch.SECOND_HAND, id="cushion [second hand]"),
        pytest.param(trade.CUSHION_LOW_PROFILE, "3/8", "in", CUSHION, Vouch.SECOND_HAND, id="berber [second hand]"),
        pytest.param(trade.STRIP_WIDTH, "1", "in", STRIP, Vouch.PUBLISHED, id="strip's width [published]"),
        pytest.param(trade.STRIP_THICKNESS, "1/4", "in", STRIP, Vouch.PUBLISHED, id="strip's thickness [published]"),
        pytest.param(trade.STRIP_WIDE, "7/4", "in", STRIP, Vouch.PUBLISHED, id="wide strip [published]"),
        pytest.param(trade.STRIP_FASTENERS, "2", "pieces", STRIP, Vouch.PUBLISHED, id="fasteners [published]"),
        pytest.param(trade.WIDE_STRIP_SPAN, "30", "ft", STRIP, Vouch.PUBLISHED, id="wide strip over [published]"),
        pytest.param(trade.GULLY_MOST, "3/8", "in", STRIP, Vouch.PUBLISHED, id="gully [published]"),
        pytest.param(trade.SLAB_HUMIDITY_MOST, "75", "pct", MOISTURE, Vouch.PUBLISHED, id="slab [published]"),
        pytest.param(trade.SLAB_PH_MOST, "9", "pH", SLAB, Vouch.PUBLISHED, id="slab pH [published]"),
    ],
)
def test_limits_stand_as_published(constant: Constant, value: str, unit: str, source: str, vouch: Vouch) -> None:
    assert constant == Constant(Fraction(value), unit, source, vouch)


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
        pytest.param("cushion", "1/2", "in", "cushion 1/2 in: at most 7/16 in", CUSHION, id="7/16 in [second hand]"),
        pytest.param("cushion", "12", "mm", "cushion 12 mm: at most 7/16 in", CUSHION, id="11.1 mm [derived]"),
        pytest.param("gully", "7/16", "in", "gully 7/16 in: at most 3/8 in", STRIP, id="3/8 in [published]"),
        pytest.param("gully", "10", "mm", "gully 10 mm: at most 3/8 in", STRIP, id="9.5 mm [published, derived]"),
        pytest.param("slab_humidity", "76", "pct", "at most 75 %", MOISTURE, id="75 % [published]"),
        pytest.param("slab_ph", "9.1", "pH", "pH 9.1: at most 9", SLAB, id="pH 9 [published]"),
    ],
)
def test_outside_a_limit(kind: str, value: str, unit: str, text: str, source: str) -> None:
    (caution,) = conditions.cautions({kind: noted(value, unit)})
    assert (caution.about, caution.source) == (kind, source)
    assert text in caution.text
    assert conditions.outside(caution)


@pytest.mark.parametrize(
    ("kind", "value", "unit"),
    [
        ("temperature", "65", "F"),
        ("temperature", "95", "F"),
        ("temperature", "35", "C"),
        ("humidity", "10", "pct"),
        ("humidity", "65", "pct"),
        ("unrolled", "24", "h"),
        ("unrolled", "72", "h"),
        ("cushion", "3/8", "in"),
        ("cushion", "9", "mm"),
        ("gully", "3/8", "in"),
        ("gully", "9", "mm"),
        ("slab_humidity", "75", "pct"),
        ("slab_ph", "9", "pH"),
    ],
)
def test_on_the_limit_is_inside(kind: str, value: str, unit: str) -> None:
    assert conditions.cautions({kind: noted(value, unit)}) == ()


@pytest.mark.parametrize(
    ("kind", "value", "unit", "text"),
    [
        pytest.param(
            "cushion", "7/16", "in", "under berber or low profile carpet at most 3/8 in", id="the pile is unknown"
        ),
        pytest.param("cushion", "11", "mm", "cushion 11 mm: under berber", id="11 mm is 0.433 in [derived]"),
        pytest.param("unrolled", "73", "h", "24 h up to 72 h", id="long unrolled: information"),
    ],
)
def test_a_note_is_no_limit_passed(kind: str, value: str, unit: str, text: str) -> None:
    (caution,) = conditions.cautions({kind: noted(value, unit)})
    assert text in caution.text
    assert not conditions.outside(caution)


def test_skipped_ones_are_not_recorded() -> None:
    found = conditions.cautions(dict.fromkeys(KINDS, Noted()))
    assert [each.about for each in found] == list(KINDS)
    assert [each.text for each in found][-2:] == ["slab humidity: not recorded", "slab pH: not recorded"]


@pytest.mark.parametrize("word", ["one_row", "two_rows", "wide"])
def test_strip_by_itself_breaks_no_limit(word: str) -> None:
    assert conditions.cautions({"strip": Noted(word=word)}) == ()


def test_nothing_to_measure_is_recorded_as_such() -> None:
    said = {"cushion": Noted(word="no_cushion"), "slab_humidity": Noted(word="no_slab")}
    assert all(each.recorded for each in said.values())
    assert conditions.cautions(said) == ()


def test_asked_in_turn_and_never_in_vain() -> None:
    """An attached cushion is part of the carpet; a slab that is not there has no pH."""
    assert conditions.waiting(Construction.WOVEN, {}) == KINDS
    assert "cushion" not in conditions.waiting(Construction.ATTACHED_CUSHION, {})
    assert conditions.waiting(None, {"slab_humidity": Noted(word="no_slab")}) == KINDS[:6]
    assert conditions.waiting(None, {"slab_humidity": Noted()}) == (*KINDS[:6], "slab_ph")
    assert conditions.waiting(None, dict.fromkeys(KINDS, Noted())) == ()


SPAN = Caution("wide strip", "cross pulls: the span of 31 ft is over 30 ft; use wide strip or two rows", STRIP)
OTHER = Caution("empty band", "no mark", "arithmetic")


@pytest.mark.parametrize("word", ["two_rows", "wide"])
def test_enough_strip_answers_the_plans_caution(word: str) -> None:
    assert conditions.with_strip([SPAN, OTHER], {"strip": Noted(word=word)}) == (OTHER,)


def test_one_row_is_not_enough_over_thirty_feet() -> None:
    """CRI 105 s.11.1 [published]: spans over 30 ft call for 1 3/4 in three-row strip or two rows."""
    found, other = conditions.with_strip([SPAN, OTHER], {"strip": Noted(word="one_row")})
    assert (found.about, found.source, other) == ("strip", STRIP, OTHER)
    assert found.text == f"one row of strip is down; {SPAN.text}"
    assert conditions.outside(found)


@pytest.mark.parametrize("said", [{}, {"strip": Noted()}])
def test_strip_that_nobody_told_of_leaves_the_plans_caution(said: dict[str, Noted]) -> None:
    assert conditions.with_strip([SPAN, OTHER], said) == (SPAN, OTHER)


@given(st.integers(-40, 120))
def test_fahrenheit_agrees_with_pint(celsius: int) -> None:
    expected = REGISTRY.Quantity(float(celsius), "degC").to("degF").magnitude
    assert float(conditions.fahrenheit(Quantity(Fraction(celsius), "C"))) == pytest.approx(expected)


@given(st.integers(1, 999), st.sampled_from(["cushion", "gully"]))
def test_millimetres_are_held_against_the_same_limit_as_inches(mm: int, kind: str) -> None:
    limit = {"cushion": trade.CUSHION_MOST, "gully": trade.GULLY_MOST}[kind]
    found = [each for each in conditions.cautions({kind: noted(str(mm), "mm")}) if conditions.outside(each)]
    assert bool(found) is (REGISTRY.Quantity(mm, "mm").to("inch").magnitude > float(limit.value))


values = st.fractions(min_value=0, max_value=200, max_denominator=16)
NUMBERS = {"temperature": "F", "humidity": "pct", "unrolled": "h", "cushion": "in", "gully": "in",
           "slab_humidity": "pct", "slab_ph": "pH"}  # fmt: skip


@given(st.dictionaries(st.sampled_from(sorted(NUMBERS)), st.none() | values))
def test_each_condition_is_judged_by_itself(said: dict[str, Fraction | None]) -> None:
    """The cautions of a day are those of its conditions, in the order noted; at most one each, each with its source."""
    day = {kind: Noted(None if value is None else Quantity(value, NUMBERS[kind])) for kind, value in said.items()}
    found = conditions.cautions(day)
    alone = [each for kind in day for each in conditions.cautions({kind: day[kind]})]
    assert sorted(found, key=str) == sorted(alone, key=str)
    assert len({each.about.partition(":")[0] for each in found}) == len(found)
    assert all(each.text and each.source for each in found)


@given(st.sampled_from(["cushion", "gully", "slab_humidity", "slab_ph"]), values, values)
def test_more_is_never_better(kind: str, one: Fraction, two: Fraction) -> None:
    def passed(value: Fraction) -> bool:
        found = conditions.cautions({kind: Noted(Quantity(value, NUMBERS[kind]))})
        return any(conditions.outside(each) for each in found)

    assert passed(min(one, two)) <= passed(max(one, two))
