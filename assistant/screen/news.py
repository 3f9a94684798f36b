"""What a screen is told besides the panel."""

from dataclasses import dataclass
from typing import Protocol

from assistant.screen.panel import Panel


@dataclass(frozen=True)
class Trouble:
    """Something does not work; the sitting goes on."""

    line: str
    stands: bool = False
    """What was answered is not taken: the question stands."""


@dataclass(frozen=True)
class Listening:
    """How the microphone does."""

    peak: float
    """Loudest sample since the last news, 0 to 1 of full scale."""
    deaf: bool
    """Nothing is heard now: the assistant is speaking."""
    hint: str = ""
    """What is wrong with the level of the last utterance; '' = nothing."""
    waits: str = ""
    """What must be said or done before an answer is heard; '' = nothing."""
    gone: bool = False
    """No sound comes from the microphone."""


@dataclass(frozen=True)
class Sign:
    """The first sign of an utterance, before it is answered."""

    heard: str


News = Panel | Trouble | Listening | Sign


class Desk(Protocol):
    """Where a screen hands in what was tapped."""

    def tap(self, turn: int, sentence: str) -> None:
        """A sentence for the question of that turn; the voice is hushed at once."""

    def touched(self) -> None:
        """Somebody is busy at the screen: that is no silence."""

    def accepts(self, ask: str, sentence: str) -> bool:
        """Does the ask's grammar accept the sentence?"""
