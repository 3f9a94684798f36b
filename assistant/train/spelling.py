"""A text as states that an aligner walks: every pronunciation of every word, silence wherever words meet."""

from collections.abc import Sequence
from dataclasses import dataclass

Variants = Sequence[tuple[int, ...]]
"""Pronunciations of one word, in phone numbers."""
ENTRY = -1
"""No state before this one inside its word: it is entered at the boundary before the word."""


@dataclass(frozen=True)
class States:
    """The states of one text; silences (phone 0) come first, one for each of the words + 1 boundaries."""

    phone: tuple[int, ...]
    before: tuple[int, ...]
    """Place of the state before, or ENTRY."""
    boundary: tuple[int, ...]
    """Boundary at which the state is entered: the number of the word, or of the silence."""
    last: tuple[bool, ...]
    """Whether a word ends with this state; a silence never does."""


def states(words: Sequence[Variants]) -> States:
    """The states of a text given as its words' pronunciations."""
    silences = len(words) + 1
    phone, before = [0] * silences, [ENTRY] * silences
    boundary, last = list(range(silences)), [False] * silences
    for place, variants in enumerate(words):
        for phones in variants:
            for number, each in enumerate(phones):
                before.append(len(phone) - 1 if number else ENTRY)
                phone.append(each)
                boundary.append(place)
                last.append(number == len(phones) - 1)
    return States(tuple(phone), tuple(before), tuple(boundary), tuple(last))
