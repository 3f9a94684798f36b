"""The standard linear solid: a spring beside a spring in series with a dashpot. Pure arithmetic, units as given.

The simplest body that both relaxes (held still, its pull fades) and creeps (under a steady pull, it lengthens), which
is what a stretched carpet does between two bites and after hooking. Textbook viscoelasticity; floats, for nothing here
is measured on a tape.
"""

from dataclasses import dataclass
from math import exp


@dataclass(frozen=True)
class Solid:
    """One direction of a carpet."""

    lasting: float
    """Stiffness that remains for ever, pull per per cent of strain."""
    fading: float
    """Stiffness of the branch that gives way, likewise."""
    seconds: float
    """Relaxation time of that branch at constant strain."""

    def relaxed(self, strain: float, after: float) -> float:
        """The pull `after` seconds at a `strain` put on at once: E strain + E1 strain exp(-t / tau)."""
        return strain * (self.lasting + self.fading * exp(-after / self.seconds))


@dataclass(frozen=True)
class Tension:
    """A solid at one moment."""

    solid: Solid
    strain: float = 0.0
    """Per cent."""
    branch: float = 0.0
    """The pull in the branch that gives way."""

    @property
    def pull(self) -> float:
        """In all."""
        return self.solid.lasting * self.strain + self.branch

    def strained(self, change: float) -> "Tension":
        """Strained by so much more, at once."""
        return Tension(self.solid, self.strain + change, self.branch + self.solid.fading * change)

    def rested(self, seconds: float) -> "Tension":
        """Held at its strain for so long."""
        return Tension(self.solid, self.strain, self.branch * exp(-seconds / self.solid.seconds))
