"""Figures by words: the maker's, the default, the pattern's share on top, and where nobody gave one."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core.band import DEFAULT_FIGURE, Band, Construction, Figure, Verdict, band, figure_for, judge
from assistant.core.fold import fold
from assistant.core.length import Length, System, feet, inches, millimetres
from assistant.core.meaning import Meaning, Quantity
from assistant.core.order import Direction
from assistant.core.room import Axis, Corner
from assistant.core.session import respond
from assistant.core.state import State
from assistant.orders import read_order

if TYPE_CHECKING:
    from conftest import Talk

QUARTER = Fraction(1, 4)
MAKER = Figure(Fraction(1), Fraction(3, 2), from_maker=True)
NO_DEFAULT = [each for each in Construction if each is not Construction.TUFTED_SYNTHETIC]
points = st.fractions(min_value=0, max_value=5, max_denominator=16)
shares = st.fractions(min_value=Fraction(1, 16), max_value=5, max_denominator=16)


def planned(
    length: Length,
    width: Length,
    *,
    construction: Construction = Construction.TUFTED_SYNTHETIC,
    figure: Figure | None = None,
    pattern: Fraction | None = None,
    system: System = System.IMPERIAL,
) -> State:
    """A job at its first pull: a cross pull over `width`."""
    asked = () if pattern is None else tuple(ev.PatternSet(each, pattern) for each in Direction)
    return fold(
        (
            ev.Started("test", "none", read_order()),
            ev.JobNamed("1"),
            ev.ConstructionChosen(construction),
            *asked,
            *(ev.FigureSet(each, figure) for each in Direction),
            ev.SidesSet(length, width, system),
            ev.CornerChosen(Corner.DOOR_LEFT),
            ev.LayChosen(Axis.DOOR_TO_FAR),
            ev.PassBegun(1),
        )
    )


def first_band(state: State) -> Band | None:
    assert state.pull is not None
    return state.pull.band


def answer(state: State, value: Fraction, unit: str) -> list[str]:
    return [each.key for each in respond(state, Meaning("reading", (Quantity(value, unit),))).lines]


# What governs


@pytest.mark.parametrize("construction", NO_DEFAULT)
@pytest.mark.parametrize("pattern", [Fraction(0), QUARTER])
def test_no_default_and_no_pattern_makes_a_figure(construction: Construction, pattern: Fraction) -> None:
    """Some woven carpets stretch in length and not at all in width (Floor Covering Installer [published]); for jute,
    unitary and attached cushion no figure was found: the maker's is required.
    """
    assert figure_for(construction, None, pattern) is None


def test_patterned_goods_may_need_more() -> None:
    """CRI 2011 s.16.5.2 [published]: at least 1 %; patterned goods may need more."""
    found = figure_for(Construction.TUFTED_SYNTHETIC, None, QUARTER)
    assert found == Figure(Fraction(5, 4), Fraction(7, 4), from_maker=False)
    assert figure_for(Construction.WOVEN, MAKER, QUARTER) == Figure(Fraction(5, 4), Fraction(7, 4), from_maker=True)
    least_only = Figure(Fraction(2), None, from_maker=True)
    assert figure_for(Construction.JUTE, least_only, QUARTER) == Figure(Fraction(9, 4), None, from_maker=True)


@given(st.sampled_from(Construction), st.builds(Figure, shares, st.none() | shares, st.just(True)), points)
def test_the_pattern_is_added_to_least_and_to_most(
    construction: Construction, maker: Figure, pattern: Fraction
) -> None:
    found = figure_for(construction, maker, pattern)
    assert found is not None and found.from_maker
    assert found.least - maker.least == pattern
    assert (found.most is None) == (maker.most is None)
    assert found.most is None or maker.most is None or found.most - maker.most == pattern


@given(st.integers(384, 6000), shares, points, st.sampled_from(System))
def test_a_pattern_moves_the_whole_band_by_its_share_of_the_span(
    sixteenths: int, least: Fraction, pattern: Fraction, system: System
) -> None:
    span = inches(Fraction(sixteenths, 16))
    plain, more = (
        band(span, Figure(least + extra, least + extra + 1, from_maker=True), system)
        for extra in (Fraction(0), pattern)
    )
    assert more.most is not None and plain.most is not None
    assert more.least - plain.least == more.most - plain.most == span * (pattern / 100)


# Said


def test_a_pattern_needs_a_yes_and_comes_before_the_figure(talk: Talk) -> None:
    talk.hear("job one", "woven", "pattern plus a quarter percent")
    assert talk.asked == ["Pattern plus zero point two five per cent. Yes or no?"]
    assert talk.state.patterns == {}
    assert talk.hear("no").asks == "figure"
    assert talk.state.patterns == {}
    talk.hear("pattern plus a quarter percent", "yes")
    assert (talk.asks, talk.said) == ("figure", ["Good."])
    assert (talk.state.patterns, talk.state.maker) == ({Direction.LENGTH: QUARTER}, {})
    talk.hear("one to one and a half percent", "yes")
    assert talk.said == ["Good.", "With the pattern, at least one point two five per cent."]
    assert talk.state.maker == {Direction.LENGTH: MAKER}


def test_each_direction_has_its_own_pattern(talk: Talk) -> None:
    talk.hear("job one", "woven", "pattern plus a quarter percent", "yes", "one to one and a half percent", "yes")
    talk.hear("the same", "yes")
    assert talk.said == ["Good."]
    talk.hear("skip the rest", "ten feet by ten feet", "yes")
    figures = {each: figure_for(Construction.WOVEN, talk.state.maker[each], talk.state.patterns.get(each, Fraction(0)))
               for each in Direction}  # fmt: skip
    assert figures == {
        Direction.LENGTH: Figure(Fraction(5, 4), Fraction(7, 4), from_maker=True),
        Direction.CROSS: MAKER,
    }


def test_the_same_figure_with_a_pattern_of_its_own(talk: Talk) -> None:
    talk.hear("job one", "woven", "one to one and a half percent", "yes", "pattern plus one percent", "yes", "the same")
    talk.hear("yes")
    assert talk.said == ["Good.", "With the pattern, at least two per cent."]
    assert talk.state.patterns == {Direction.CROSS: Fraction(1)}


def test_a_pattern_on_the_default(talk: Talk) -> None:
    talk.hear("job one", "tufted", "pattern plus a half percent", "yes", "no figure")
    assert talk.said == [
        "No maker's figure: at least one per cent.",
        "With the pattern, at least one point five per cent.",
    ]


def test_an_eighth_for_the_pattern_is_read_back_as_an_eighth(talk: Talk) -> None:
    talk.hear("job one", "tufted", "pattern plus one eighth percent")
    assert talk.asked == ["Pattern plus an eighth per cent. Yes or no?"]
    talk.hear("yes", "no figure")
    assert talk.said[-1] == "With the pattern, at least one and an eighth per cent."


def test_a_pattern_alone_gives_no_verdict_and_says_so(talk: Talk) -> None:
    talk.hear("job one", "woven", "pattern plus a half percent", "yes", "no figure")
    assert talk.said == ["No figure, so no verdict. I keep the readings.", "A pattern alone is no figure: no verdict."]
    talk.hear("pattern plus a half percent", "yes", "the same")
    assert talk.said == ["Noted.", "A pattern alone is no figure: no verdict."]
    state = planned(feet(10), feet(8), construction=Construction.WOVEN, pattern=Fraction(1, 2))
    assert first_band(state) is None
    assert answer(state, Fraction(1), "in") == ["read_back", "no_verdict"]


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        ("two to one percent", "Least is over most. Say the smaller one first."),
        ("zero point zero to one percent", "The least must be more than nothing."),
        ("nine to eleven point five percent", "Over ten per cent cannot be. Say less."),
        ("pattern plus six percent", "A pattern asks at most five per cent on top."),
        ("pattern plus zero point zero percent", "A pattern of nothing: say the figure alone."),
    ],
)
def test_contradictory_figures_are_refused_with_what_would_be_right(talk: Talk, sentence: str, said: str) -> None:
    talk.hear("job one", "jute", sentence)
    assert (talk.said, talk.asks, talk.turn.ask_again) == ([said], "figure", True)
    assert (talk.state.maker, talk.state.patterns, talk.state.proposed) == ({}, {}, None)


def test_a_figure_and_its_pattern_are_held_together_against_what_can_be(talk: Talk) -> None:
    talk.hear("job one", "jute", "pattern plus two percent", "yes", "eight to nine percent")
    assert (talk.keys, talk.asks) == (["figure_too_large"], "figure")
    talk.hear("seven to eight percent", "yes", "pattern plus three percent", "yes", "the same")
    assert (talk.keys, talk.asks, Direction.CROSS in talk.state.maker) == (["figure_too_large"], "figure", False)


# Judged


def test_the_pattern_is_in_the_pulls_band() -> None:
    """12 ft [derived]: 1.25 % = 1.80 in -> 1 13/16, 1.75 % = 2.52 in -> 2 1/2."""
    found = first_band(planned(feet(10), feet(12), figure=MAKER, pattern=QUARTER))
    assert found == Band(inches("9/5"), inches("63/25"), inches("29/16"), inches("5/2"))
    assert first_band(planned(feet(10), feet(12), figure=MAKER)) == band(feet(12), DEFAULT_FIGURE, System.IMPERIAL)


@pytest.mark.parametrize(
    ("metres", "moved", "verdict"),
    [
        pytest.param(4, 39, "short", id="4 m least 40 mm [derived], 1 mm under"),
        pytest.param(4, 40, "in_band", id="4 m least 40 mm [derived]"),
        pytest.param(4, 60, "in_band", id="4 m most 60 mm [derived]"),
        pytest.param(4, 61, "over", id="4 m most 60 mm [derived], 1 mm over"),
        pytest.param(5, 49, "short", id="5 m least 50 mm [derived], 1 mm under"),
        pytest.param(5, 50, "in_band", id="5 m least 50 mm [derived]"),
        pytest.param(5, 75, "in_band", id="5 m most 75 mm [derived]"),
        pytest.param(5, 76, "over", id="5 m most 75 mm [derived], 1 mm over"),
    ],
)
def test_metric_rooms_are_judged_to_the_millimetre(metres: int, moved: int, verdict: str) -> None:
    width = millimetres(metres * 1000)
    state = planned(millimetres(3600), width, system=System.METRIC)
    assert answer(state, Fraction(moved), "mm")[-1].removesuffix("_one_bite") == verdict


NARROW = Figure(Fraction(1), Fraction("1.01"), from_maker=True)
"""12 ft: 1.44 to 1.4544 in; no sixteenth lies between 1 7/16 and 1 1/2."""


def test_a_band_without_a_mark_takes_the_nearest_over_it() -> None:
    state = planned(feet(10), feet(12), figure=NARROW)
    found = first_band(state)
    assert found is not None and found.empty
    assert judge(inches("3/2"), found) is Verdict.OVER
    assert answer(state, Fraction(23, 16), "in")[-1] == "short_one_bite"
    assert answer(state, Fraction(3, 2), "in") == ["read_back", "over_nearest"]
    assert answer(state, Fraction(25, 16), "in") == ["read_back", "over"]
    assert state.plan is not None
    assert [each.about for each in state.plan.cautions].count("empty band") == 2


def test_a_band_without_a_mark_counts_what_hooking_loses_first(talk: Talk) -> None:
    """A maker's 1.5 to 1.5 %, 10 ft: 1.8 in and nothing else; hooking loses 1/4 in."""
    talk.hear("job one", "tufted", "one and a half to one and a half percent", "yes", "the same", "yes")
    talk.hear("skip the rest", "twelve feet", "yes", "ten feet", "yes", "it is square", "no openings")
    talk.hear("door left", "door to far", "ready", "one and thirteen sixteenths")
    assert talk.said[-1] == "Over, but no mark fits better. Hook it."
    talk.hear("hooked", "one and nine sixteenths", "yes")
    assert talk.asked[-1] == "Pull one. Aim for two and a sixteenth inches."
    assert talk.hear("one and thirteen sixteenths").keys[-1] == "over_thin"
    assert talk.hear("two inches").keys[-1] == "over_thin"
    assert talk.hear("two and a sixteenth").said[-1] == "Over, but no mark fits better. Hook it."
    assert talk.hear("two and an eighth").keys[-1] == "over"
    assert talk.hear("two and a sixteenth", "yes").keys[-1] == "over_nearest"


def test_within_a_band_without_a_mark_nothing_is_over() -> None:
    """3.63 m, 1 to 1.01 %: 36.3 to 36.663 mm; centimetres are told to tenths of a millimetre."""
    state = planned(millimetres(3600), millimetres(3630), figure=NARROW, system=System.METRIC)
    found = first_band(state)
    assert found is not None and found.empty
    assert answer(state, Fraction("36.5"), "mm")[-1] == "in_band_thin"
    assert answer(state, Fraction("36.7"), "mm")[-1] == "over_nearest"


@pytest.mark.parametrize("manner", ["strong", "light"])
def test_strong_and_light_are_kept_and_never_counted(pulling: Talk, manner: str) -> None:
    pulling.hear(f"one and three quarters {manner}")
    assert pulling.said[0] == f"One and three quarters inches {manner}."
    assert pulling.state.record.reading == inches("7/4")
    pulling.hear("hooked", f"one and five eighths {manner}")
    assert pulling.said[0] == f"Holds one and five eighths inches {manner}."
    first = pulling.state.records[0]
    assert first.hold is not None and (first.hold.moved, first.hold.manner) == (inches("13/8"), manner)
    assert first.readings[0].manner == manner
