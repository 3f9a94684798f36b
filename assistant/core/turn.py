"""A turn: the events an utterance brings, and the lines it is answered with."""

from dataclasses import dataclass

from assistant.core.events import Event, Proposed, Refused
from assistant.core.line import Line, line
from assistant.core.plausible import Doubt


@dataclass(frozen=True)
class Turn:
    """What one utterance leads to. Nothing has been done yet."""

    events: tuple[Event, ...] = ()
    """To be made durable, in order, all or none."""
    lines: tuple[Line, ...] = ()
    """To be said after that."""
    ask_again: bool = False
    """The present question is to be said again even though it has not changed."""


def refuse(why: str) -> Turn:
    """The figure cannot be: say so, ask again."""
    return Turn((Refused(why),), (line(why),), ask_again=True)


def propose(event: Event, why: str) -> Turn:
    """The event waits for an explicit yes."""
    return Turn((Proposed(event, why),))


def unless(doubt: Doubt | None, event: Event, otherwise: Turn) -> Turn:
    """`otherwise`, but a doubtful figure is refused or asked about first."""
    if doubt is None:
        return otherwise
    return refuse(doubt.why) if doubt.refused else propose(event, doubt.why)
