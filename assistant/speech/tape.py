"""The meaning tape: the tags met along a sentence, added up like strips on an adding machine.

7, 3/8       a number                      ft in m cm mm pct F C h n deg pH   closes the numbers before it
*100         times a hundred               by     the next length begins
.            decimal places follow         #      the numbers so far were single digits
act= word= manner=                         what is done, which choice, 'strong' or 'light'
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction

from assistant.core.meaning import Meaning, Quantity

_SIZE_OF = {
    "ft": ("in", Fraction(12)),
    "in": ("in", Fraction(1)),
    "m": ("mm", Fraction(1000)),
    "cm": ("mm", Fraction(10)),
    "mm": ("mm", Fraction(1)),
    "pct": ("pct", Fraction(1)),
    "F": ("F", Fraction(1)),
    "C": ("C", Fraction(1)),
    "h": ("h", Fraction(1)),
    "n": ("n", Fraction(1)),
    "deg": ("deg", Fraction(1)),
    "pH": ("pH", Fraction(1)),
}
_NUMBER = re.compile(r"\d+(/[1-9]\d*)?")
_COMPOUND = ("in", "mm")


class TapeError(ValueError):
    """A tag no adding machine knows; the message names it."""


@dataclass
class _Machine:
    entry: list[Fraction] = field(default_factory=list)
    places: list[Fraction] | None = None
    quantities: list[Quantity] = field(default_factory=list)
    open_unit: str = ""
    digits: str = ""
    words: dict[str, str] = field(default_factory=dict)

    def take(self, tag: str) -> None:
        if _NUMBER.fullmatch(tag):
            (self.entry if self.places is None else self.places).append(Fraction(tag))
        elif tag == "*100":
            self.entry = [sum(self.entry, Fraction(0)) * 100]
        elif tag == ".":
            self.places = []
        elif tag == "#":
            self.digits = "".join(str(each) for each in self.entry)
            self.entry = []
        elif tag == "by":
            self.open_unit = ""
        elif tag in _SIZE_OF:
            self._close(*_SIZE_OF[tag])
        elif "=" in tag:
            name, value = tag.split("=", 1)
            self.words[name] = value
        else:
            raise TapeError(f"tag {{{tag}}}: not a number, a unit, or act=, word=, manner=")

    def _close(self, unit: str, size: Fraction) -> None:
        value = sum(self.entry, Fraction(0))
        for place, digit in enumerate(self.places or (), start=1):
            value += digit / 10**place
        self.entry, self.places = [], None
        if unit in _COMPOUND and unit == self.open_unit:
            value = value * size + self.quantities.pop().value
        else:
            value *= size
        self.quantities.append(Quantity(value, unit))
        self.open_unit = unit


def add_up(tags: tuple[str, ...]) -> Meaning:
    """The meaning of the tags in the order they were met.

    Raises TapeError for an unknown tag or a tape without an act.
    """
    machine = _Machine()
    for tag in tags:
        machine.take(tag)
    if "act" not in machine.words:
        raise TapeError(f"tape {' '.join(tags)}: no act= on it")
    return Meaning(
        act=machine.words["act"],
        quantities=tuple(machine.quantities),
        word=machine.words.get("word", ""),
        digits=machine.digits,
        manner=machine.words.get("manner", ""),
    )
