"""A carpet that behaves: it gives, lets go, falls back at the hook, settles afterwards. Seeded; no clock.

Each pull stretches a strip of carpet, a standard linear solid. A bite strains it; between bites its pull fades. Hooked,
it loses what the pins give under that pull and what the backing settles by; the settling goes on after the tape was
read. Every draw is keyed by seed, pull and bite, so that whoever makes the same bites meets the same luck.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, sqrt
from random import Random

from assistant.core.length import System
from assistant.core.order import Direction
from assistant.practice import ranges
from assistant.practice.ranges import BETWEEN_BITES, SETTLED, TO_THE_TAPE
from assistant.practice.solid import Solid, Tension

LEAST = 1.0
"""Per cent of the span that the ranges' 'least' means."""
SETTLING_SECONDS = 60.0


@dataclass(frozen=True)
class Grain:
    """One direction of the carpet, with the wall it is hooked on."""

    solid: Solid
    bite: float
    """Per cent of the span that a stroke brings while the carpet is slack."""
    spread: float
    hardening: float
    fall_back: float
    """Share of the least that hooking loses at the least, on the whole."""
    elastic: float
    """Share of it that the pins give under the pull."""
    scatter: float
    likeness: float
    trend: float
    """How much more (or less) the last pull of the wall loses than the first."""


@dataclass(frozen=True)
class Carpet:
    """Everything an oracle knows."""

    seed: int
    grains: Mapping[Direction, Grain]
    creep: float
    coupling: float
    error: float
    """Standard deviation of a reading, inches."""
    slip: float
    seam: float
    """By how much a seamed pull loses more; 1 = no seam."""
    seam_at: float
    """Where along the wall, 0 to 1."""

    def dice(self, *key: object) -> Random:
        """Always the same luck for the same key."""
        return Random("/".join(map(str, (self.seed, *key))))


def draw_carpet(seed: int) -> Carpet:
    """A carpet from assistant.practice.ranges."""
    dice = Random(f"carpet {seed}")
    seam = ranges.SEAM.draw(dice) if dice.random() < ranges.SEAMED else 1.0
    common = ranges.FALL_BACK.draw(dice), ranges.BITE.draw(dice)
    return Carpet(
        seed,
        {direction: _grain(dice, *common) for direction in Direction},
        creep=ranges.CREEP.draw(dice),
        coupling=ranges.COUPLING.draw(dice),
        error=ranges.READING_ERROR.draw(dice),
        slip=ranges.SLIP.draw(dice),
        seam=seam,
        seam_at=dice.random(),
    )


def _grain(dice: Random, fall_back: float, bite: float) -> Grain:
    factor = ranges.DIRECTION.draw(dice)
    # A stiff direction gives less a bite and falls back further.
    bite = min(max(bite / factor, ranges.BITE.low), ranges.BITE.high)
    return Grain(
        Solid(1.0, ranges.FADING.draw(dice), ranges.SECONDS.draw(dice)),
        bite=bite,
        spread=ranges.BITE_SPREAD.draw(dice),
        hardening=ranges.HARDENING.draw(dice),
        fall_back=min(fall_back * factor, ranges.FALL_BACK.high),
        elastic=ranges.ELASTIC.draw(dice),
        scatter=ranges.SCATTER.draw(dice),
        likeness=ranges.LIKENESS.draw(dice),
        trend=ranges.TREND.draw(dice) if dice.random() < ranges.TRENDING else 0.0,
    )


@dataclass(frozen=True)
class Place:
    """Where a pull stands on its wall."""

    direction: Direction
    index: int
    """Along the wall, from 0."""
    along: float
    """The same from 0 to 1."""
    span: float
    """Inches."""


class Strip:
    """The carpet of one pull. Moves are in inches, as the tape would show them without error."""

    def __init__(self, carpet: Carpet, place: Place) -> None:
        self._carpet, self.place = carpet, place
        self._grain = carpet.grains[place.direction]
        self._tension = Tension(self._grain.solid)
        self._looks = 0
        self.bites = 0
        """Strokes made, easings included."""
        self.loss: float | None = None
        """What hooking lost at once, inches; None while the head holds."""
        self._tugged = 0.0

    @property
    def moved(self) -> float:
        """The mark now."""
        return self._tension.strain * self.place.span / 100 - self._lost(TO_THE_TAPE) + self._tugged

    @property
    def settled(self) -> float:
        """The mark once nothing moves any more: the truth about a hooked pull."""
        return self._tension.strain * self.place.span / 100 - self._lost(SETTLED) + self._tugged

    def bite(self) -> bool:
        """One stroke of the lever; True where the teeth let the carpet go."""
        self._let_off_the_pins()
        self.bites += 1
        dice = self._luck("bite", self.bites)
        if dice.random() < self._carpet.slip:
            self._tension = Tension(self._grain.solid)
            return True
        grain = self._grain
        gain = grain.bite * (1 - grain.hardening * self._tension.strain / 2) * max(0.3, 1 + dice.gauss(0, grain.spread))
        self._tension = self._tension.strained(gain).rested(BETWEEN_BITES)
        return False

    def ease(self) -> None:
        """Half a stroke back."""
        self._let_off_the_pins()
        self.bites += 1
        back = min(self._grain.bite / 2, self._tension.strain)
        self._tension = self._tension.strained(-back).rested(BETWEEN_BITES)

    def hook(self) -> None:
        """Onto the pins."""
        grain, span = self._grain, self.place.span
        share = grain.fall_back * (1 + grain.trend * (self.place.along - 0.5)) * self._seam() * self._scatter()
        pins = share * grain.elastic * self._tension.pull / self._usual_pull()
        self.loss = max(0.0, (pins + share * (1 - grain.elastic)) * LEAST * span / 100)

    def tug(self, inches: float) -> None:
        """A neighbour was hooked."""
        self._tugged += inches

    def tape(self) -> float:
        """What the eye makes of the mark, before it is rounded to a graduation."""
        self._looks += 1
        return self.moved + self._luck("look", self._looks).gauss(0, self._carpet.error)

    def _let_off_the_pins(self) -> None:
        """Pulled again: the head takes over where the pins hold."""
        if self.loss is not None:
            lost = (self.loss - self._tugged) * 100 / self.place.span
            self._tension = self._tension.strained(-min(lost, self._tension.strain))
            self.loss, self._tugged = None, 0.0

    def _lost(self, after: float) -> float:
        if self.loss is None:
            return 0.0
        more = self._carpet.creep * (1 - self._grain.elastic) * (1 - exp(-after / SETTLING_SECONDS))
        return self.loss * (1 + more)

    def _usual_pull(self) -> float:
        return self._grain.solid.relaxed(LEAST, BETWEEN_BITES)

    def _seam(self) -> float:
        return self._carpet.seam if abs(self.place.along - self._carpet.seam_at) < 0.08 else 1.0

    def _scatter(self) -> float:
        """Luck at the hook, shared with the neighbour before: a moving average of two draws."""
        share = self._grain.likeness / 2
        own, before = (self._luck("hook", back).gauss(0, 1) for back in (0, -1))
        mixed = (1 - share) * own + share * before
        return max(0.2, 1 + self._grain.scatter * mixed / sqrt((1 - share) ** 2 + share**2))

    def _luck(self, what: str, count: int) -> Random:
        index = self.place.index + count if what == "hook" else self.place.index
        return self._carpet.dice(self.place.direction.value, index, what, 0 if what == "hook" else count)


def rounded(inches: float, system: System) -> int:
    """Graduations of the tape nearest to it; never below its end."""
    return max(0, round(inches / float(system.graduation.inches)))
