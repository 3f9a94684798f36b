"""The four tones, each with the sign that is its visual twin; which one a turn has. Pure; the sound is speech/tones.py.

A sign says what its tone says, so that neither has to be noticed alone; a warning has its words on the screen besides.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from assistant.core import events as ev


class Cue(StrEnum):
    """What became of an utterance, at once; the value is its word in plain lines."""

    TAKEN = "taken"
    """Understood and in the log."""
    ASKED = "not yet taken"
    """Not understood, refused, asked about, or waiting for its yes: something is to be said."""
    WARNING = "warning"
    """To be looked at before going on."""
    DONE = "done"
    """A pull, a plan or the job is finished."""

    @property
    def sign(self) -> str:
        """Its shape on a screen."""
        return SIGNS[self]


SIGNS = {Cue.TAKEN: "✓", Cue.ASKED: "?", Cue.WARNING: "!", Cue.DONE: "■"}
_NOT_TAKEN = (ev.Refused, ev.Offered, ev.Proposed)


def cue_of(events: Sequence[ev.Event], told: Iterable[Cue | None]) -> Cue:
    """The one cue of a turn: of its events and of the messages it is answered with, the most pressing."""
    found = set(told)
    if Cue.WARNING in found:
        return Cue.WARNING
    if any(isinstance(each, _NOT_TAKEN) or each == ev.Missed("nomatch") for each in events):
        return Cue.ASKED
    return Cue.DONE if Cue.DONE in found else Cue.TAKEN


def warned(line: str) -> str:
    """A line that stands on the screen while the warning sounds, with its sign."""
    return f"{Cue.WARNING.sign} {line}"
