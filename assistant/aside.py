"""What is told beside the talk: shown at once, a warning with its sign and its tone, and said after what waits."""

from collections.abc import Callable

from assistant.core.tone import PLAIN
from assistant.cues import Cue, warned
from assistant.screen.news import Trouble
from assistant.speaker import Speaker
from assistant.wording import Wording

SPARED_MS = 10_000
"""That the microphone is gone is said at most once in so long."""


class Plug:
    """What was last said aloud of a microphone that comes and goes: a loose plug must not fill the voice's queue."""

    def __init__(self) -> None:
        self._said_gone, self._spared_until = False, 0

    def is_to_be_said(self, gone: bool, now_ms: int) -> bool:
        """Is it to be said now that it is gone, or there? Ask again while it lasts; True once."""
        if gone == self._said_gone or (gone and now_ms < self._spared_until):
            return False
        self._said_gone = gone
        if gone:
            self._spared_until = now_ms + SPARED_MS
        return True


def show_aside(told: Wording, shown: str, tell: Callable[[Trouble], object]) -> None:
    """The line `shown`, with the sign of what is said with it."""
    tell(Trouble(warned(shown) if told.cue is Cue.WARNING else shown))


def say_aside(told: Wording, speaker: Speaker) -> None:
    """A warning has its tone before the words."""
    if told.cue is Cue.WARNING:
        speaker.sound(Cue.WARNING)
    speaker.say(told, PLAIN)
