"""Who knows the carpet: the fewest strokes that land a pull's settled hold in its band, with the same luck."""

from assistant.core.band import Band
from assistant.practice.carpet import Carpet, Place, Strip

MOST = 40
"""Strokes looked at."""


def fewest(carpet: Carpet, place: Place, band: Band) -> int | None:
    """Strokes of the shortest way into the band: bites, then perhaps half strokes back; None where none of MOST does.

    The oracle need not measure, never hooks in vain, and meets the same slips and the same giving at each bite.
    """
    best: int | None = None
    for bites in range(1, MOST + 1):
        if best is not None and bites >= best:
            break
        found = _with(carpet, place, band, bites)
        if found is not None and (best is None or found < best):
            best = found
    return best


def _with(carpet: Carpet, place: Place, band: Band, bites: int) -> int | None:
    """Strokes in all where so many bites come first."""
    for easings in range(3):
        strip = Strip(carpet, place)
        for _ in range(bites):
            strip.bite()
        for _ in range(easings):
            strip.ease()
        strip.hook()
        if lands(strip.settled, band):
            return bites + easings
        if strip.settled < float(band.least.inches):
            return None
    return None


def lands(inches: float, band: Band) -> bool:
    """Is the truth in the exact band?"""
    most = None if band.most is None else float(band.most.inches)
    return float(band.least.inches) <= inches and (most is None or inches <= most)
