"""Against published values."""

import pytest

from assistant.hearing.statistics import garwood, mcnemar, quantile, wilson


@pytest.mark.parametrize(
    ("part", "whole", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_as_in_newcombe(part: int, whole: int, low: float, high: float) -> None:
    """Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17 (1998), table I,
    method 3 (score without continuity correction).
    """
    assert wilson(part, whole) == pytest.approx((low, high), abs=5e-5)


def test_wilson_at_the_ends() -> None:
    assert wilson(0, 0) == (0.0, 1.0)
    assert wilson(20, 20) == pytest.approx((1 - 0.1611, 1.0), abs=5e-5)
    for part, whole in ((3, 2), (-1, 5)):
        with pytest.raises(ValueError, match="between"):
            wilson(part, whole)


@pytest.mark.parametrize(
    ("events", "low", "high"), [(0, 0, 3.689), (1, 0.0253, 5.572), (5, 1.623, 11.668), (10, 4.795, 18.390)]
)
def test_garwood(events: int, low: float, high: float) -> None:
    """Garwood, Biometrika 28 (1936), 437-442, as reprinted in tables of exact Poisson limits (from memory)."""
    assert garwood(events) == pytest.approx((low, high), abs=6e-4)


@pytest.mark.parametrize(
    ("freedom", "low", "high"), [(10, 3.247, 20.483), (40, 24.433, 59.342), (100, 74.222, 129.561)]
)
def test_garwood_is_half_of_chi_squared(freedom: int, low: float, high: float) -> None:
    """Its ends are half the 2.5 and 97.5 % quantiles of chi-squared with 2 n and 2 n + 2 degrees of freedom: the usual
    table of chi-squared (from memory).
    """
    assert garwood(freedom // 2)[0] == pytest.approx(low / 2, abs=6e-4)
    assert garwood(freedom // 2 - 1)[1] == pytest.approx(high / 2, abs=6e-4)


def test_garwood_at_the_ends() -> None:
    assert garwood(0)[0] == 0.0
    assert garwood(1, 0.9) == pytest.approx((0.0513, 4.744), abs=6e-4)  # -ln 0.95 at the low end
    with pytest.raises(ValueError, match="negative"):
        garwood(-1)


@pytest.mark.parametrize(("fewer", "more", "p"), [(5, 15, 2 * 0.0207), (2, 8, 2 * 0.0547), (0, 5, 2 * 0.03125)])
def test_few_disagreements_are_counted_out(fewer: int, more: int, p: float) -> None:
    """Tables of the cumulative binomial distribution, n = 20, 10, 5 at 1/2: P(X <= 5) = .0207, P(X <= 2) = .0547,
    P(X = 0) = .03125; a two-sided sign test doubles them.
    """
    assert mcnemar(fewer, more) == pytest.approx(p, abs=1e-4)
    assert mcnemar(more, fewer) == mcnemar(fewer, more)


def test_mcnemar_with_many() -> None:
    """The table of the normal distribution: 1.90 is passed either way in 2 x .0287, 2.00 in 2 x .0228. Agresti,
    Categorical Data Analysis, approval of a prime minister (150 against 86): here with the correction 63^2 / 236.
    """
    assert mcnemar(40, 60) == pytest.approx(2 * 0.0287, abs=1e-4)  # 19^2 / 100 = 1.90^2
    assert mcnemar(7, 18) == pytest.approx(2 * 0.02275, abs=1e-4)  # 10^2 / 25 = 2.00^2
    assert mcnemar(86, 150) == pytest.approx(4.1e-5, abs=0.1e-5)


def test_no_disagreement_is_no_difference() -> None:
    assert mcnemar(0, 0) == 1.0
    assert mcnemar(3, 3) == 1.0
    assert mcnemar(50, 50) == 1.0


def test_quantile() -> None:
    assert quantile([3.0, 1.0, 2.0], 0.5) == 2.0
    assert quantile([float(each) for each in range(100)], 0.95) == 95.0
    assert quantile([1.0], 0.95) == 1.0
    with pytest.raises(ValueError, match="at least one"):
        quantile([], 0.5)
