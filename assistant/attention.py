"""When answers are heard: always, for a while after the attention word, or one after the talk key.

Open, the ears listen under the question's grammar; else for the attention word alone, or by tap for nothing.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from assistant.core.length import System
from assistant.core.line import line
from assistant.ports import Heard
from assistant.speech.grammars import ATTENTION, grammar
from assistant.speech.sampler import sentences
from assistant.wording import word


@dataclass(frozen=True)
class Manners:
    """How one is listened to."""

    attention: str = ""
    """The attention word; '' = none."""
    open_s: float = 8.0
    """So long the ears stay open for a begin of speech, counted from the end of what the assistant says meanwhile."""
    tap: bool = False
    """Nothing is heard until the talk key is pressed; then one utterance."""

    @property
    def always_open(self) -> bool:
        """Answers are heard without more ado."""
        return not (self.attention or self.tap)


def attention_words() -> tuple[str, ...]:
    """Those that may be set."""
    return tuple(sorted(sentences(grammar(ATTENTION))))


class Attention:
    """Opens and closes the ears; `press` may be called from any thread, all else from the one that hears."""

    def __init__(self, manners: Manners, now: Callable[[], float] = time.monotonic) -> None:
        """`now` in seconds."""
        self._manners, self._now = manners, now
        self._until = float("-inf")

    @property
    def open(self) -> bool:
        """What is said now is heard as an answer."""
        return self._manners.always_open or self._now() < self._until

    @property
    def waits(self) -> str:
        """What is waited for, as it is shown; '' = the ears are open."""
        if self.open:
            return ""
        key = line("waits_key") if self._manners.tap else line("waits_word", text=self._manners.attention)
        return word(key, System.IMPERIAL).show

    def press(self) -> None:
        """The talk key; it opens as the word does."""
        self._begin()

    def speaks(self) -> None:
        """The assistant is speaking: time goes on when it has ended."""
        if self.open:
            self._begin()

    def under(self, ask: str) -> str | None:
        """The grammar to listen under at a question's; None = nothing is to be heard."""
        if self.open:
            return ask
        return ATTENTION if self._manners.attention else None

    def heard(self, heard: Heard, under: str) -> bool:
        """Is this utterance an answer, and no attention word or other talk?"""
        if under == ATTENTION:
            if heard.meaning is not None and heard.text == self._manners.attention:
                self._begin()
            return False
        if heard.text and self._manners.tap:
            self._until = float("-inf")
        elif heard.meaning is not None:
            self._begin()  # what is not understood opens nothing anew: it may be talk of others
        return True

    def _begin(self) -> None:
        self._until = self._now() + self._manners.open_s
