"""One utterance from its first sound to its end, whatever engine recognises it: the same end-pointing for all."""

from abc import ABC, abstractmethod
from typing import final

from assistant.core.meaning import Candidate, Meaning
from assistant.ports import Heard
from assistant.speech.endpoint import WINDOW, Endpointer, More
from assistant.speech.grammars import CAREFUL, grammar
from assistant.speech.model import UNKNOWN
from assistant.speech.understand import goes_on, twins, understand


class UtteranceListener(ABC):
    """The Listener port without an engine: which sound belongs to the utterance, and when it has ended."""

    def __init__(self, ask: str, endpointer: Endpointer) -> None:
        self._ask, self._endpointer, self._over = ask, endpointer, False

    @property
    def speaking(self) -> bool:
        """As the port asks."""
        return self._endpointer.speaking and not self._over

    @final
    def feed(self, block: bytes) -> Heard | None:
        """As the port asks. Nothing after the utterance is heard."""
        for at in range(0, len(block), 2 * WINDOW):
            # Window by window, so that the engine knows all words when a silence is to be judged.
            heard = self._feed(block[at : at + 2 * WINDOW])
            if heard is not None or self._over:
                return heard
        return None

    def _feed(self, block: bytes) -> Heard | None:
        if self._over:
            return None
        self._recognise(self._endpointer.feed(block, self._more))
        while self._endpointer.ended and self._endpointer.knock:
            self._forget()
            self._endpointer.wait_again()
            self._recognise(self._endpointer.feed(b"", self._more))
        return self.finish() if self._endpointer.ended or self._heard_enough() else None

    @final
    def finish(self) -> Heard | None:
        """As the port asks."""
        if self._over:
            return None
        self._over = True
        if not self._endpointer.speaking or self._endpointer.knock:
            return None
        text, meaning, score = self._result()
        maybe = self._maybe() if meaning is None else twins(text, grammar(self._ask))
        return Heard(text, meaning, score, self._endpointer.start_s, self._endpointer.end_s, maybe)

    def _more(self) -> More:
        """Are words to come? Always where those so far are no whole sentence.

        Maybe behind a whole one that may go on, where it was spoken slowly or the figure must not be wrong. Speech
        that is not understood has ended, except where such a figure is asked for: its first words alone can sound
        like anything.
        """
        return self._more_than(self._so_far())

    def _more_than(self, text: str) -> More:
        if not text or UNKNOWN in text:
            return More.UNKNOWN if self._ask in CAREFUL else More.NO
        if self._meaning(text) is None:
            return More.YES
        patient = self._ask in CAREFUL or self._endpointer.slow(text)
        return More.MAYBE if patient and goes_on(text, grammar(self._ask)) else More.NO

    def _heard_enough(self) -> bool:
        """Is it over, although somebody still speaks?"""
        return False

    def _maybe(self) -> tuple[Candidate, ...]:
        """What an utterance without a trusted meaning may have been; () for an engine that cannot tell."""
        return ()

    def _meaning(self, text: str) -> Meaning | None:
        return understand(text, grammar(self._ask)) if text else None

    @abstractmethod
    def _recognise(self, sound: bytes) -> None:
        """Take more sound of the utterance; may be none."""

    @abstractmethod
    def _forget(self) -> None:
        """What was taken was a knock."""

    @abstractmethod
    def _so_far(self) -> str:
        """The words recognised so far."""

    @abstractmethod
    def _result(self) -> tuple[str, Meaning | None, float]:
        """Text, meaning and score of the whole utterance."""
