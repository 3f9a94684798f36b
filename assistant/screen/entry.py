"""What is pressed on a pad -> the sentence it stands for, in the number words of the grammars.

A press is a digit, '.', a unit ('ft'), a tape fraction ('5/8'), or words ('turn right').
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from assistant.core import spoken
from assistant.screen.choices import Pad

FRACTIONS = tuple(str(Fraction(n, 16)) for n in range(1, 16))
"""Keys of the tape, in its order."""
_UNITS = {
    "ft": ("foot", "feet"),
    "in": ("inch", "inches"),
    "m": ("metre", "metres"),
    "cm": ("centimetre", "centimetres"),
    "mm": ("millimetre", "millimetres"),
    "F": ("degrees", "degrees"),
    "C": ("degrees celsius", "degrees celsius"),
}
_SHOWN = {"F": "°F", "C": "°C"}
LONGEST = 24
"""Presses at most: the longest sentence, a hearth, needs fewer."""
_MOST_DIGITS = 6


@dataclass(frozen=True)
class Entry:
    """A pad with what was pressed so far."""

    pad: Pad
    presses: tuple[str, ...] = ()

    def press(self, key: str) -> "Entry":
        """With one key more; a key too many is not taken."""
        full = len(self.presses) >= LONGEST or (key.isdigit() and len(self._run) >= _MOST_DIGITS)
        return self if full else replace(self, presses=(*self.presses, key))

    def back(self) -> "Entry":
        """Without the last key."""
        return replace(self, presses=self.presses[:-1])

    @property
    def _run(self) -> str:
        """The digits being typed."""
        return "".join(_groups(self.presses)[-1:]) if self.presses and self.presses[-1].isdigit() else ""

    @property
    def shown(self) -> str:
        """As written: '12 ft 3 5/8 in'."""
        return " ".join(_SHOWN.get(each, each) for each in _groups(self.presses))

    @property
    def sentence(self) -> str:
        """As said; not always one that is heard: see whoever accepts it."""
        return " ".join(filter(None, (self.pad.begin, self._said(), self.pad.end)))

    def _said(self) -> str:
        groups = _sayable(_groups(self.presses))
        if self.pad.figures == "digits":
            return " ".join(_digit_by_digit(each) for each in groups)
        return " ".join(_word(groups, at) for at in range(len(groups)))


def _groups(presses: tuple[str, ...]) -> list[str]:
    """Presses with the digits of one number joined; a space begins another number."""
    groups: list[str] = []
    before = " "
    for each in presses:
        joins = (each.isdigit() or each == ".") and before != " " and groups and _is_number(groups[-1])
        if joins:
            groups[-1] += each
        elif each != " ":
            groups.append(each)
        before = each
    return groups


def _sayable(groups: list[str]) -> list[str]:
    """As it is said: '35.9 mm' is three point five nine centimetres, '3.642 m' three metres 642 millimetres."""
    found: list[str] = []
    for group, before in zip(groups, ["", *groups], strict=False):
        tenths = re.fullmatch(r"(\d{0,4}?)(\d)\.(\d)", before) if group == "mm" else None
        thousandths = re.fullmatch(r"([1-9]\d?)\.(\d{3})", before) if group == "m" else None
        if tenths:
            found[-1:] = [f"{tenths[1] or '0'}.{tenths[2]}{tenths[3]}", "cm"]
        elif thousandths:
            rest = str(int(thousandths[2]))
            found[-1:] = [thousandths[1], "m", *([rest, "mm"] if rest != "0" else [])]
        else:
            found.append(group)
    return found


def _is_number(group: str) -> bool:
    return (group[0].isdigit() and "/" not in group) or group[0] == "."


def _word(groups: list[str], at: int) -> str:
    group, before = groups[at], groups[at - 1] if at else ""
    if "/" in group:
        if group not in FRACTIONS:
            return group
        joined = _is_number(before) if before else False
        return ("and " if joined or before in ("ft", "in") else "") + spoken.fraction(Fraction(group))
    if group in _UNITS:
        alone = before == "1" or ("/" in before and not _counted(groups, at))
        return _UNITS[group][0 if alone else 1]
    return _number(group) if _is_number(group) else group


def _counted(groups: list[str], at: int) -> bool:
    """Is the fraction before the unit at `at` part of 'one and five eighths'?"""
    return at > 1 and _is_number(groups[at - 2])


def _number(typed: str) -> str:
    """Digits and at most one point in words; what is no number stays as typed, so that nothing accepts it."""
    found = re.fullmatch(r"(\d{1,6})(?:\.(\d{1,2}))?", typed)
    if found is None:
        return typed
    whole, places = found.groups()
    said = spoken.whole(int(whole))
    return said if places is None else f"{said} point {_digit_by_digit(places)}"


def _digit_by_digit(typed: str) -> str:
    return " ".join(spoken.whole(int(each)) if each.isdigit() else each for each in typed)


_TYPED = re.compile(r"\d+\s*/\s*\d+|\d+|\.|[fc]\b|ft\b|in\b|mm\b|cm\b|m\b|'|\"|[a-z][a-z]*(?: [a-z][a-z]*)*")
_MEANT = {"'": "ft", '"': "in", "f": "F", "c": "C"}


def typed(text: str, pad: Pad) -> Entry:
    """What a keyboard typed, as presses: '12 ft 3 5/8 in', '72', 'turn right'. The pad's own words are no press."""
    entry = Entry(pad)
    text = text.lower().replace("°", "").strip().removeprefix(pad.begin).removesuffix(pad.end)
    for found in _TYPED.findall(text):
        if found.isdigit():
            entry = entry.press(" ") if entry.presses and entry.presses[-1].isdigit() else entry
            for digit in found:
                entry = entry.press(digit)
        else:
            entry = entry.press(_MEANT.get(found, "".join(found.split()) if "/" in found else found))
    return entry


def as_said(text: str, pads: Iterable[Pad], accepts: Callable[[str], bool]) -> str:
    """What a keyboard typed, as it is said: '1 5/8' -> 'one and five eighths'; as it is where no pad knows it."""
    made = (typed(text, each).sentence for each in pads)
    return text if accepts(text) else next(filter(accepts, made), text)
