"""The keys of a pad in rows, the same on every screen."""

from dataclasses import dataclass

from assistant.screen.choices import Pad
from assistant.screen.entry import FRACTIONS

OK, BACK, CLEAR, CLOSE = "OK", "Rub out", "Clear", "Close"
"""What is done with the entry."""
WORDS_A_ROW = 4
_A_ROW = 5
"""Fractions beside each other where they have rows of their own: the fifteen fill three."""
_ACTIONS = (OK, BACK, CLEAR, CLOSE)


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


def pad_rows(pad: Pad, upright: bool = False) -> tuple[tuple[PadKey, ...], ...]:
    """Four rows of digits, units and actions; the fractions beside them, or `upright` in rows of their own below."""
    beside, below = _units(pad.units)
    last = ("." if pad.figures != "digits" else "", "0", below)
    fractions = FRACTIONS if pad.fractions else ()
    rows = []
    for at, digits in enumerate((*_DIGITS, last)):
        keys = [*digits, *beside[at : at + 1]]
        if not upright:
            keys += [*fractions, ""][at * 4 : at * 4 + 4] if fractions else []
        rows.append((*map(_key, keys), PadKey(_ACTIONS[at])))
    if upright:
        rows += [tuple(map(_key, fractions[at : at + _A_ROW])) for at in range(0, len(fractions), _A_ROW)]
    return tuple(rows)


def _units(units: tuple[str, ...]) -> tuple[tuple[str, ...], str]:
    """Those in a column of their own, and the one beside the 0, where the only one or a fifth stands."""
    if len(units) < 2:
        return (), "".join(units)
    return (*units[:4], *("",) * (4 - len(units))), "".join(units[4:])


def word_rows(pad: Pad) -> tuple[tuple[PadKey, ...], ...]:
    """The keys that are words, in rows of at most four."""
    keys = [PadKey(each, each) for each in pad.words]
    return tuple(tuple(keys[at : at + WORDS_A_ROW]) for at in range(0, len(keys), WORDS_A_ROW))


def _key(press: str) -> PadKey:
    return PadKey(_LABELS.get(press, press), press) if press else _NOTHING
