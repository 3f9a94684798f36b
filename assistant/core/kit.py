"""The stretcher's pieces: head and lever, tubes, extension, tail."""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from assistant.core.length import ZERO, Length, System, feet, inches, tape

MOST_PIECES = 24
"""Tubes in a kit; with more, the ways to combine them are too many to look through (design choice)."""
MOST_LENGTHS = 20
"""Different tube lengths in a kit (design choice)."""
MOST_HOLES = 60
"""Holes of the extension (design choice)."""

_RANGES = {
    "head": (inches(6), feet(10)),
    "travel": (inches("1/2"), feet(2)),
    "window": (inches("1/16"), feet(1)),
    "extension_least": (inches(1), feet(10)),
    "extension_most": (inches(1), feet(20)),
    "hole_pitch": (inches("1/4"), feet(2)),
    "tail": (inches("1/16"), feet(2)),
}
_TUBE = (inches(1), feet(20))


class KitError(ValueError):
    """A kit that cannot be; the text says what is wrong and what would be right."""

    def __init__(self, key: str, why: str) -> None:
        super().__init__(f"kit.{key}: {why}")
        self.key, self.why = key, why


@dataclass(frozen=True)
class Tube:
    """Tubes of one length."""

    length: Length
    count: int
    """How many are in the kit."""

    @property
    def tape(self) -> System:
        """The tape it is named on, whatever the room's: the one it was measured with."""
        return _tape_of(self.length)


@dataclass(frozen=True)
class Kit:
    """Everything that stands between the head's front and the wall behind the tail.

    The defaults are plain round sizes of our own (design choice), not those of any stretcher: measure yours.
    Raises KitError naming the key.
    """

    head: Length = inches(24)
    """Head and lever section at its shortest, the lever right up."""
    travel: Length = inches(6)
    """How much longer the section gets with the lever right down."""
    window: Length = inches("3/2")
    """How far from half-way the lever may stand when the stretcher is set up, along the stretcher."""
    tubes: tuple[Tube, ...] = (Tube(feet(4), 6), Tube(feet(2), 2), Tube(feet(1), 1))
    """Longest first, whatever order they were given in."""
    extension_least: Length = inches(18)
    """The extension in its first hole."""
    extension_most: Length = inches(33)
    """The extension in its last hole."""
    hole_pitch: Length = inches(3)
    """From one hole to the next."""
    tail: Length = inches(2)
    """Tail plate and pad."""

    def __post_init__(self) -> None:
        for key, (least, most) in _RANGES.items():
            _check(key, getattr(self, key), least, most)
        self._check_pieces()
        self._check_tubes()
        object.__setattr__(self, "tubes", tuple(sorted(self.tubes, key=lambda each: each.length, reverse=True)))

    def _check_pieces(self) -> None:
        if self.window * 2 > self.travel:
            raise KitError(
                "window", f"{_told(self.window)} is more than half the lever's travel; give at most half of it"
            )
        spread = self.extension_most - self.extension_least
        if spread < ZERO:
            raise KitError("extension_most", f"{_told(self.extension_most)} is less than extension_least; give more")
        if spread.per(self.hole_pitch).denominator != 1:
            why = f"{_told(self.hole_pitch)} does not divide extension_most less extension_least, {_told(spread)}"
            raise KitError("hole_pitch", f"{why}; measure from hole to hole")
        if self.holes > MOST_HOLES:
            raise KitError("hole_pitch", f"{_told(self.hole_pitch)} makes {self.holes} holes; {MOST_HOLES} at most")
        if self.holes > 1 and self.hole_pitch > self.travel:
            why = f"{_told(self.hole_pitch)} from hole to hole is more than the lever's travel can bridge"
            raise KitError("hole_pitch", f"{why}; give at most {_told(self.travel)}")

    def _check_tubes(self) -> None:
        seen: set[Length] = set()
        for place, each in enumerate(self.tubes, start=1):
            key = f"tubes[{place}]"
            _check(f"{key}.length", each.length, *_TUBE)
            if not 1 <= each.count <= MOST_PIECES:
                raise KitError(f"{key}.count", f"{each.count} must be a whole number from 1 to {MOST_PIECES}")
            if each.length in seen:
                raise KitError(key, f"{_told(each.length)} stands twice; give each length once with its count")
            seen.add(each.length)
        if len(seen) > MOST_LENGTHS:
            raise KitError("tubes", f"{len(seen)} different lengths; {MOST_LENGTHS} at most")
        if self.pieces > MOST_PIECES:
            raise KitError("tubes", f"{self.pieces} tubes; {MOST_PIECES} at most")

    @property
    def pieces(self) -> int:
        """How many tubes there are."""
        return sum(each.count for each in self.tubes)

    @property
    def holes(self) -> int:
        """How many holes the extension has."""
        return int((self.extension_most - self.extension_least).per(self.hole_pitch)) + 1

    @property
    def bare(self) -> Length:
        """No tube, first hole, lever half-way."""
        return self.head + self.travel * Fraction(1, 2) + self.extension_least + self.tail

    @property
    def least(self) -> Length:
        """The shortest distance from head to wall that it is set up for."""
        return self.bare - self.window

    @property
    def most(self) -> Length:
        """The longest."""
        tubes = sum((each.length.inches * each.count for each in self.tubes), Fraction(0))
        return self.bare + Length(tubes) + self.extension_most - self.extension_least + self.window


@dataclass(frozen=True)
class Build:
    """Tubes and hole for one pull."""

    tubes: tuple[Tube, ...]
    """Longest first; none = head, lever and extension alone."""
    hole: int
    """Of the extension, from 1 = shortest; 0 = the kit has but one."""
    lever: Length
    """How far past half-way the lever stands to reach; below zero = short of half-way."""

    @property
    def pieces(self) -> int:
        """How many tubes."""
        return sum(each.count for each in self.tubes)


class Lack(Enum):
    """Why no build reaches."""

    TOO_LONG = "too long for the kit"
    TOO_SHORT = "too short for the kit"
    BETWEEN = "between two builds"
    """A little more and a little less can be reached."""


@dataclass(frozen=True)
class Shortage:
    """No build reaches this pull."""

    lack: Lack
    missing: Length
    """How far the nearest build's lever window is from reaching, exact."""
    span: Length
    parts: int
    """Deadman proposal: the fewest equal parts of the span that can each be reached (see deadman.py); 0 = none."""
    each: Build | None = None
    """Tubes and hole for one of those parts; None where there are none."""


def _check(key: str, value: Length, least: Length, most: Length) -> None:
    if not least <= value <= most:
        raise KitError(key, f"{_told(value)} must be from {_told(least)} to {_told(most)}")
    if all(value.per(system.graduation).denominator != 1 for system in System):
        raise KitError(key, f"about {_told(value)} lies between the tape's marks; give sixteenths or whole millimetres")


def _told(value: Length) -> str:
    return tape(value, _tape_of(value))


def _tape_of(value: Length) -> System:
    """The tape on whose marks it lies. On both lie multiples of 5 in only, which nobody has in millimetres (127)."""
    metric = value.mm.denominator == 1 and value.per(System.IMPERIAL.graduation).denominator != 1
    return System.METRIC if metric else System.IMPERIAL
