"""What was said, as the session takes it: an act, its figures, its words."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Quantity:
    """A spoken figure with the unit it was said in."""

    value: Fraction
    """Exact, in `unit`."""
    unit: str
    """'in' (feet are counted as 12 in), 'mm' (metres and centimetres likewise), 'pct', 'F', 'C', 'h', 'n' (a
    count), 'deg', 'pH'."""


@dataclass(frozen=True)
class Meaning:
    """One understood utterance."""

    act: str
    """What the speaker does: 'reading', 'hooked', 'yes', 'undo' ..., as tagged in the grammars."""
    quantities: tuple[Quantity, ...] = ()
    """Figures in the order said."""
    word: str = ""
    """The chosen word where the act has a choice: a reason, a corner, a construction."""
    digits: str = ""
    """Spoken digits, kept as text: '0427'."""
    manner: str = ""
    """'strong' or 'light', kept as said and never turned into a number: crews mean different things by it."""


@dataclass(frozen=True)
class Candidate:
    """A sentence that may have been said."""

    text: str
    """In the words of the grammar."""
    meaning: Meaning
