"""How often the recogniser was wrong, as far as a log can tell."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from assistant.core import events as ev
from assistant.record.walk import Step

VOICE = "voice"
"""How `Said.by` names what was spoken."""
FATES = ("not_understood", "offered", "turned_down", "taken_back", "refused")


@dataclass(frozen=True)
class Tally:
    """Turns of a job, counted."""

    spoken: int
    """Utterances that the recogniser took down."""
    tapped: int
    """Answers tapped, typed or trodden: nothing to recognise."""
    silent: int
    """Turns in which nobody spoke in time."""
    not_understood: int
    """Spoken, and no answer to what was asked."""
    offered: int
    """Spoken, and offered back as one of several sentences that it may have been."""
    turned_down: int
    """Spoken, read back, and answered with no."""
    taken_back: int
    """Spoken, taken, and scratched with the next change: misheard, or the installer's own slip."""
    refused: int
    """Spoken, and no figure that could be: misheard, or said so."""

    @property
    def doubtful(self) -> int:
        """Of the spoken: those that the recogniser may have got wrong, at most what the log shows."""
        return self.not_understood + self.offered + self.turned_down + self.taken_back + self.refused

    @property
    def share(self) -> Fraction | None:
        """Of the spoken that are doubtful; None where nobody spoke."""
        return Fraction(self.doubtful, self.spoken) if self.spoken else None


def tally(steps: Sequence[Step]) -> Tally:
    """Each utterance counts once, under the last that came of it."""
    said = {step.row.seq: step.event for step in steps if isinstance(step.event, ev.Said)}
    rows = list(said)
    came_of = {}
    for step in steps:
        row, fate = _fate(step)
        before = bisect_right(rows, row)
        if fate and before:
            came_of[rows[before - 1]] = fate
    fates = Counter(fate for row, fate in came_of.items() if said[row].by == VOICE)
    spoken = sum(each.by == VOICE for each in said.values())
    silent = sum(step.event == ev.Missed("noinput") for step in steps)
    return Tally(spoken, len(said) - spoken, silent, **{each: fates[each] for each in FATES})


def _fate(step: Step) -> tuple[int, str]:
    """What came of something said, and the row by which it had been said; '' for any other step."""
    match step.event:
        case ev.Missed("nomatch"):
            return step.row.seq, "not_understood"
        case ev.Offered():
            return step.row.seq, "offered"
        case ev.Refused():
            return step.row.seq, "refused"
        case ev.Rejected():
            return step.undone_row or 0, "turned_down"
        case ev.Scratched():
            return step.undone_row or 0, "taken_back"
    return 0, ""
