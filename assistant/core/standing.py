"""Where the stretcher stands: which way it was turned, and what it is built for as far as that is sure."""

from dataclasses import dataclass

from assistant.core.kit import Build, Shortage
from assistant.core.pull import Pull


@dataclass(frozen=True)
class Standing:
    """What was called out before the present pull, and what of it was surely done."""

    turned: int = 0
    """Number of the pass last called; 0 = none."""
    wall: int = 0
    """Number of the wall last called; 0 = none."""
    build: Build | Shortage | None = None
    """The tubes that surely stand: those of a pull that was hooked, with no others called since; None = not sure."""

    def called(self, pull: Pull, number: int, *, hooked: bool) -> "Standing":
        """After a pull of pass `number` was called out, and hooked or left."""
        sure = hooked or pull.build == self.build
        return Standing(number, pull.wall_number, pull.build if sure else None)
