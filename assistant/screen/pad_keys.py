"""The keys of a pad in rows, the same on every screen."""

from dataclasses import dataclass

from assistant.screen.choices import Pad
from assistant.screen.entry import FRACTIONS

OK, BACK, CLEAR, CLOSE = "OK", "Rub out", "Clear", "Close"
"""What is done with the entry."""
WORDS_A_ROW = 4


@dataclass(frozen=True)
class PadKey:
    """One key."""

    label: str
    press: str = ""
    """What it adds to the entry; '' = an action, or a blank place."""

    @property
    def action(self) -> bool:
        """Does it act on the entry?"""
        return not self.press and bool(self.label)


_DIGITS = (("7", "8", "9"), ("4", "5", "6"), ("1", "2", "3"))
_LABELS = {"F": "°F", "C": "°C"}
_NOTHING = PadKey("")


def pad_rows(pad: Pad) -> tuple[tuple[PadKey, ...], ...]:
    """Four rows of digits, units, fractions and actions."""
    units = pad.units
    last = ("." if pad.figures != "digits" else "", "0", units[4] if len(units) > 4 else "")
    actions = (OK, BACK, CLEAR, CLOSE)
    rows = []
    for at, digits in enumerate((*_DIGITS, last)):
        keys = [*digits, *(units[at : at + 1] or ([""] if units else []))]
        if pad.fractions:
            keys += [*FRACTIONS, ""][at * 4 : at * 4 + 4]
        rows.append((*map(_key, keys), PadKey(actions[at])))
    return tuple(rows)


def word_rows(pad: Pad) -> tuple[tuple[PadKey, ...], ...]:
    """The keys that are words, in rows of at most four."""
    keys = [PadKey(each, each) for each in pad.words]
    return tuple(tuple(keys[at : at + WORDS_A_ROW]) for at in range(0, len(keys), WORDS_A_ROW))


def _key(press: str) -> PadKey:
    return PadKey(_LABELS.get(press, press), press) if press else _NOTHING
