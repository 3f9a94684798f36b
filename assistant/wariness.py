"""While others talk, what is only just likely enough is asked about and not taken.

The calibration (speech/trust.py) knows one utterance at a time. Whoever has just heard speech that was no sentence of
the ask is among people who talk, and there the next utterance is other speech far more often than it was among the
recordings the calibration was fitted to.
"""

from dataclasses import replace

from assistant.core.meaning import Candidate
from assistant.ports import Heard

WARY_S = 10.0
"""So long after other speech, the assistant's own answer included."""
ENOUGH = 1.5
"""Right ones for a wrong one, of what is taken (hearing/fit.py)."""
FITTED = 3.0
"""Sentences for one of other speech, where the calibration was fitted."""
MOST = 3
"""Utterances counted: beside a radio, where they never end, nearly all would be asked about. docs/measured.md."""


def sure(others: int) -> float:
    """So likely a sentence must be to be taken among others, after so many utterances of theirs.

    By the rule of succession (Laplace 1774) the next is `others` + 1 times as likely one of theirs as not.
    """
    odds = ENOUGH * FITTED * (min(others, MOST) + 1)
    return odds / (odds + 1)


def as_question(heard: Heard) -> Heard:
    """What was understood, to be asked about and not taken."""
    assert heard.meaning is not None
    return replace(heard, meaning=None, maybe=(Candidate(heard.text, heard.meaning), *heard.maybe))


class Wariness:
    """Judges one utterance after the other; time is counted by the sound that came, heard or not."""

    def __init__(self) -> None:
        self._left_s, self._others = 0.0, 0

    def passes(self, seconds: float) -> None:
        """So much more sound has come."""
        self._left_s = max(0.0, self._left_s - seconds)

    def judge(self, heard: Heard) -> Heard:
        """The utterance; without its meaning, but with the question for it, where it may be somebody else's."""
        if heard.meaning is None:
            if heard.text and not heard.maybe:
                self._others = self._others + 1 if self._left_s else 1
                self._left_s = WARY_S
        elif self._left_s and heard.score < sure(self._others):
            return as_question(heard)
        return heard
