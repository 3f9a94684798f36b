"""The simulated carpet: closed forms against a fine-step integration, and what any carpet must do."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.fold import fold
from assistant.core.length import System
from assistant.core.order import Direction
from assistant.core.trade import Vouch
from assistant.practice import ranges
from assistant.practice.carpet import Carpet, Place, Strip, draw_carpet, rounded
from assistant.practice.oracle import fewest, lands
from assistant.practice.ranges import Range
from assistant.practice.sheet import Sheet
from assistant.practice.solid import Solid, Tension
from assistant.practice.trial import setting_up

TEN_FEET = Place(Direction.CROSS, index=3, along=0.5, span=120.0)
seeds = st.integers(0, 10_000)
solids = st.builds(Solid, st.floats(0.5, 4), st.floats(0.05, 2), st.floats(10, 200))


def integrated(rate: Callable[[float], float], value: float, seconds: float, steps: int = 20_000) -> float:
    """dy/dt = rate(y) by the midpoint rule: an own reference, for no ODE solver is among the dependencies."""
    step = seconds / steps
    for _ in range(steps):
        value += step * rate(value + step / 2 * rate(value))
    return value


@pytest.mark.parametrize("after", [1.0, 30.0, 300.0])
@pytest.mark.parametrize("solid", [Solid(1.0, 0.4, 60.0), Solid(2.5, 1.5, 15.0)])
def test_relaxation_is_the_solution_of_the_equation(solid: Solid, after: float) -> None:
    """Held strain: the dashpot branch obeys dq/dt = -q / tau (standard linear solid, textbook)."""
    strain = 1.2
    branch = integrated(lambda q: -q / solid.seconds, solid.fading * strain, after)
    assert solid.relaxed(strain, after) == pytest.approx(solid.lasting * strain + branch, rel=1e-6)


@given(solids, st.floats(0.01, 3), st.floats(0, 500), st.floats(0.1, 500))
def test_a_held_carpet_fades(solid: Solid, by: float, at: float, more: float) -> None:
    assert solid.relaxed(by, at) >= solid.relaxed(by, at + more) >= solid.lasting * by


@given(solids, st.floats(0.01, 3), st.floats(0, 100), st.floats(0, 100))
def test_tension_steps_agree_with_the_closed_form(solid: Solid, by: float, one: float, two: float) -> None:
    assert Tension(solid).strained(by).rested(one).rested(two).pull == pytest.approx(solid.relaxed(by, one + two))
    assert Tension(solid).strained(by).strained(-by).pull == pytest.approx(0, abs=1e-9)


def steady(seed: int) -> Carpet:
    """A carpet that never slips."""
    return replace(draw_carpet(seed), slip=0.0)


@given(seeds, st.integers(1, 12))
def test_a_bite_moves_the_mark_and_hooking_loses(seed: int, bites: int) -> None:
    strip = Strip(steady(seed), TEN_FEET)
    seen = [strip.moved]
    for _ in range(bites):
        assert not strip.bite()
        seen.append(strip.moved)
    assert seen == sorted(set(seen)) and strip.bites == bites
    strip.hook()
    assert strip.loss is not None and strip.loss > 0
    assert strip.settled <= strip.moved < seen[-1]


@given(seeds)
def test_pulled_again_it_starts_from_what_held(seed: int) -> None:
    strip = Strip(steady(seed), TEN_FEET)
    for _ in range(4):
        strip.bite()
    before = strip.moved
    strip.hook()
    assert strip.loss is not None
    held = max(before - strip.loss, 0.0)
    strip.ease()
    assert strip.loss is None and strip.moved <= held + 1e-9


@given(seeds)
def test_the_same_bites_meet_the_same_luck(seed: int) -> None:
    one, two = (Strip(draw_carpet(seed), TEN_FEET) for _ in range(2))
    assert [one.bite() for _ in range(6)] == [two.bite() for _ in range(6)]
    assert (one.moved, one.tape(), one.tape()) == (two.moved, two.tape(), two.tape())


def test_a_slip_lets_everything_go() -> None:
    strip = Strip(replace(draw_carpet(1), slip=1.0), TEN_FEET)
    assert strip.bite() and strip.moved == 0


def drawn() -> list[Carpet]:
    return [draw_carpet(seed) for seed in range(1000, 1400)]


def test_the_drawn_carpets_reach_to_the_hard_ends_of_the_ranges() -> None:
    """Strong fall-back, noise, slips, stiff and soft: each is among the carpets tried, in a fair share."""
    grains = [grain for carpet in drawn() for grain in carpet.grains.values()]
    assert max(each.fall_back for each in grains) == ranges.FALL_BACK.high == 0.33
    assert sum(each.fall_back > 0.25 for each in grains) > len(grains) / 5
    assert min(each.fall_back for each in grains) < 0.05
    assert sum(each.bite < 0.2 for each in grains) > 50 and sum(each.bite > 0.35 for each in grains) > 50
    assert sum(abs(each.trend) > 0.3 for each in grains) > 50
    assert sum(carpet.error > 0.05 for carpet in drawn()) > 50 and max(carpet.slip for carpet in drawn()) > 0.038
    assert sum(carpet.seam > 1.2 for carpet in drawn()) > 50


def test_every_range_says_why_and_claims_no_source() -> None:
    given_ranges = [each for each in vars(ranges).values() if isinstance(each, Range)]
    assert len(given_ranges) == 17
    assert all(each.low < each.high and each.why and each.unit and each.vouch is Vouch.DESIGN for each in given_ranges)


def test_a_tape_shows_graduations_and_nothing_below_its_end() -> None:
    assert [rounded(each, System.IMPERIAL) for each in (-0.1, 0.03, 0.04, 1.0)] == [0, 0, 1, 16]
    assert rounded(1.0, System.METRIC) == 25


def sheet(seed: int, coupling: float) -> Sheet:
    plan = fold(setting_up(seed)).plan
    assert plan is not None
    return Sheet(replace(steady(seed), coupling=coupling), plan)


def test_a_hooked_neighbour_draws_the_pull_beside_it() -> None:
    laid = sheet(1000, coupling=0.08)
    for number, bites in ((1, 2), (2, 6)):
        for _ in range(bites):
            laid.bite(number)
        before = laid.strips[1].moved
        laid.hook(number)
    assert before < laid.strips[1].moved < laid.strips[2].moved
    assert laid.tape(1).per(laid.plan.job.room.system.graduation).denominator == 1


@given(st.integers(0, 400), st.integers(1, 20))
def test_nobody_lands_a_pull_with_fewer_strokes_than_the_oracle(seed: int, strokes: int) -> None:
    laid = sheet(seed, coupling=0.0)
    pull = laid.plan.pulls[0]
    assert pull.band is not None
    strip = laid.strips[pull.number]
    for _ in range(strokes):
        strip.bite()
    strip.hook()
    best = fewest(laid.carpet, strip.place, pull.band)
    if lands(strip.settled, pull.band):
        assert best is not None and best <= strokes
