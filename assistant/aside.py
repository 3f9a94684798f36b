"""What is told beside the talk: shown at once, a warning with its sign and its tone, and said after what waits."""

from collections.abc import Callable

from assistant.core.tone import PLAIN
from assistant.cues import Cue, warned
from assistant.screen.news import Trouble
from assistant.speaker import Speaker
from assistant.wording import Wording


def show_aside(told: Wording, shown: str, tell: Callable[[Trouble], object]) -> None:
    """The line `shown`, with the sign of what is said with it."""
    tell(Trouble(warned(shown) if told.cue is Cue.WARNING else shown))


def say_aside(told: Wording, speaker: Speaker) -> None:
    """A warning has its tone before the words."""
    if told.cue is Cue.WARNING:
        speaker.sound(Cue.WARNING)
    speaker.say(told, PLAIN)
