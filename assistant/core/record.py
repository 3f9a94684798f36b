"""What became of one pull."""

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from assistant.core.length import Length


class Status(Enum):
    """Where a pull stands."""

    TO_COME = "to come"
    DONE = "done"
    SKIPPED = "skipped"


@dataclass(frozen=True)
class Reading:
    """One look at the tape."""

    moved: Length
    manner: str = ""
    """'strong' or 'light', kept as said."""
    fresh: bool = False
    """The first after a slip or a reopening: it does not continue the readings before it."""


@dataclass(frozen=True)
class PullRecord:
    """Readings and outcome of one pull."""

    heads: tuple[Length, ...] = ()
    """Distances of the head from the wall, as said; the last one stands."""
    readings: tuple[Reading, ...] = ()
    """One after each bite."""
    slipped: bool = False
    """The head slipped or the pull was reopened since the last reading."""
    hooked: bool = False
    hold_due: bool = False
    """The assistant asks for the measurement after hooking."""
    hold: Reading | None = None
    lost: tuple[Length, ...] = ()
    """What hooking lost before the pull was reopened, where it was measured."""
    skipped: str = ""
    """The reason; '' = not skipped."""
    notes: tuple[str, ...] = ()
    """Wrinkle, seam, loose, damage."""

    @property
    def status(self) -> Status:
        """Done once hooked and, where asked, measured again."""
        if self.skipped:
            return Status.SKIPPED
        return Status.DONE if self.hooked and not self.hold_due else Status.TO_COME

    @property
    def head(self) -> Length | None:
        """Distance of the head from the wall, where said."""
        return self.heads[-1] if self.heads else None

    @property
    def reading(self) -> Length | None:
        """The last reading before hooking."""
        return self.readings[-1].moved if self.readings else None

    @property
    def stroke(self) -> tuple[Reading, ...]:
        """The readings since the last slip or reopening."""
        start = max((i for i, each in enumerate(self.readings) if each.fresh), default=0)
        return self.readings[start:]

    @property
    def eased(self) -> bool:
        """A reading of this stroke is smaller than the one before."""
        return any(two.moved < one.moved for one, two in pairwise(self.stroke))

    @property
    def fall_back(self) -> Length | None:
        """Reading minus hold reading, where both are known."""
        if self.hold is None or self.reading is None:
            return None
        return self.reading - self.hold.moved

    @property
    def losses(self) -> tuple[Length, ...]:
        """All that hooking was seen to lose here, the repeats included."""
        last = self.fall_back
        return self.lost if last is None else (*self.lost, last)
