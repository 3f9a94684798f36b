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
SURE = 0.9
"""So likely a sentence must be to be taken even then: nine right for one wrong, where elsewhere three right for two
are enough (hearing/fit.py), as if other speech had become six times as likely. Development talk: docs/measured.md."""


class Wariness:
    """Judges one utterance after the other; time is counted by the sound that came, heard or not."""

    def __init__(self) -> None:
        self._left_s = 0.0

    def passes(self, seconds: float) -> None:
        """So much more sound has come."""
        self._left_s = max(0.0, self._left_s - seconds)

    def judge(self, heard: Heard) -> Heard:
        """The utterance; without its meaning, but with the question for it, where it may be somebody else's."""
        if heard.meaning is None:
            if heard.text and not heard.maybe:
                self._left_s = WARY_S
        elif self._left_s and heard.score < SURE:
            return replace(heard, meaning=None, maybe=(Candidate(heard.text, heard.meaning), *heard.maybe))
        return heard
