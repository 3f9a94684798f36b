"""How sure a share or a rate is, and whether two engines differ."""

from collections.abc import Callable
from math import comb, erfc, exp, fsum, lgamma, log, sqrt

Z95 = 1.959963984540054
"""97.5 % quantile of the normal distribution."""
EXACT_BELOW = 25
"""Fewer disagreements than this are counted out exactly."""


def wilson(part: int, whole: int, z: float = Z95) -> tuple[float, float]:
    """Wilson's score interval of a share, both ends 0 to 1; (0, 1) where there is nothing to count.

    Wilson 1927, without continuity correction; raises ValueError for impossible counts.
    """
    if not 0 <= part <= whole:
        raise ValueError(f"{part} of {whole}: a part lies between nothing and the whole")
    if not whole:
        return 0.0, 1.0
    share, spread = part / whole, z * z / whole
    middle = share + spread / 2
    half = z * sqrt(share * (1 - share) / whole + spread / (4 * whole))
    low, high = (middle - half) / (1 + spread), (middle + half) / (1 + spread)
    return (0.0 if part == 0 else low), (1.0 if part == whole else high)


def garwood(events: int, share: float = 0.95) -> tuple[float, float]:
    """Exact interval of a Poisson mean from one count of `events`; divide both ends by the hours for events an hour.

    Garwood, Fiducial limits for the Poisson distribution, Biometrika 28 (1936): at the low end so many events or more,
    at the high end so many or fewer, have a probability of (1 - share) / 2. Raises ValueError for a negative count.
    """
    if events < 0:
        raise ValueError(f"{events} events: a count is not negative")
    tail, far = (1 - share) / 2, events + 12 * sqrt(events + 1) + 12  # beyond it there is nothing of either tail
    low = _falls_to(lambda mean: _poisson(events - 1, mean), 1 - tail, far) if events else 0.0
    return low, _falls_to(lambda mean: _poisson(events, mean), tail, far)


def _poisson(most: int, mean: float) -> float:
    """Probability of at most `most` events, `most` >= 0, `mean` > 0."""
    return fsum(exp(k * log(mean) - mean - lgamma(k + 1)) for k in range(most + 1))


def _falls_to(falling: Callable[[float], float], value: float, far: float) -> float:
    """Where `falling` passes `value` between 0 and `far`, by halving."""
    low, high = 0.0, far
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if falling(middle) > value else (low, middle)
    return (low + high) / 2


def mcnemar(only_first: int, only_second: int) -> float:
    """Two-sided p that two engines are right equally often, from the trials where only one of them was right.

    McNemar 1947: exact binomial below EXACT_BELOW trials, else chi-squared with one degree of freedom and the
    continuity correction of Edwards 1948. 1 where they never differ.
    """
    trials, fewer = only_first + only_second, min(only_first, only_second)
    if trials < EXACT_BELOW:
        below = sum(comb(trials, k) for k in range(fewer + 1))
        return min(1.0, 2.0 * below / float(2**trials))
    squared = max(0, abs(only_first - only_second) - 1) ** 2 / trials
    return erfc(sqrt(squared / 2))


def quantile(values: list[float], share: float) -> float:
    """The value below which `share` of the sorted `values` lie (nearest rank). Raises ValueError for none."""
    if not values:
        raise ValueError("no values: a quantile needs at least one")
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
