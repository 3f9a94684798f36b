"""From where the simulated carpets are drawn. No source gives such figures: each range says why it was taken.

All are design choices from memory of how the work is told; none was measured on a carpet. They were written down before
the advice was tried on them, and reach from docile to nasty: a fall-back of a third of the least, a reading error of a
sixteenth, one bite in twenty-five that lets go.
"""

from dataclasses import dataclass
from random import Random

from assistant.core.trade import Vouch


@dataclass(frozen=True)
class Range:
    """Evenly drawn between its ends."""

    low: float
    high: float
    unit: str
    why: str
    vouch: Vouch = Vouch.DESIGN

    def draw(self, dice: Random) -> float:
        """One value."""
        return dice.uniform(self.low, self.high)


SIDE = Range(8, 24, "ft", "from a small bedroom to a hall; longer spans are split")
BITE = Range(0.12, 0.42, "% of the span", "a span reaches 1 % in about 3 to 10 bites; a soft carpet gives more a bite")
BITE_SPREAD = Range(0.05, 0.25, "of a bite", "no two strokes of a lever set the teeth alike")
HARDENING = Range(0.0, 0.5, "of a bite lost at 2 %", "the same stroke brings less as the carpet tightens")
FALL_BACK = Range(0.02, 0.33, "of the least", "from next to nothing to a third of what was pulled (issue 3)")
DIRECTION = Range(0.7, 1.3, "times", "length and width of a woven backing differ in stiffness and hooking")
ELASTIC = Range(0.3, 0.8, "of the fall-back", "what the pins give under the pull; the rest is the backing settling")
SCATTER = Range(0.05, 0.25, "of the fall-back", "from pull to pull: how well each was pressed on the pins")
LIKENESS = Range(0.0, 0.6, "correlation", "neighbours share strip, floor and hands")
TREND = Range(-0.5, 0.5, "of the fall-back, end to end of a wall", "dull pins, a cold corner, a tiring arm")
FADING = Range(0.1, 0.6, "of the lasting stiffness", "share of the pull that fades within minutes")
SECONDS = Range(20, 180, "s", "how fast it fades")
CREEP = Range(0.0, 0.15, "of the settling", "what is still to come after the tape was read")
COUPLING = Range(0.0, 0.08, "of the difference", "a hooked neighbour pulls its neighbour towards itself")
READING_ERROR = Range(0.01, 0.0625, "in, one standard deviation", "from a sharp eye to a sixteenth off")
SLIP = Range(0.0, 0.04, "of bites", "teeth set wrong for the pile")
SEAM = Range(1.2, 1.6, "times the fall-back", "a seam hooks badly")

TRENDING = 0.35
"""Share of walls with a trend at all."""
SEAMED = 0.25
"""Share of rooms with a seam."""
METRIC = 0.2
"""Share of rooms measured in metres."""
BETWEEN_BITES = 8.0
"""Seconds from bite to bite, reading included."""
TO_THE_TAPE = 20.0
"""Seconds from hooking to the hold reading."""
SETTLED = 1800.0
"""Seconds after hooking at which the truth is taken."""
