"""How sure a share is, and whether two engines differ."""

from math import comb, erfc, sqrt

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
