"""What happened to the talk. None of these changes the job by itself."""

from dataclasses import dataclass

from assistant.core.meaning import Candidate


@dataclass(frozen=True)
class Offered:
    """What was heard may have been any of these: the speaker is asked which."""

    choices: tuple[Candidate, ...]
    """Best first."""
    why: str
    """'unsure' = the ears trusted none of them, 'alike' = they sound alike, and either could be."""


@dataclass(frozen=True)
class Chosen:
    """Which of those offered it was; what it means follows as events of its own."""

    number: int
    """From 1; 0 = neither."""


@dataclass(frozen=True)
class Paused:
    """The session rests."""


@dataclass(frozen=True)
class Resumed:
    """The session goes on."""


@dataclass(frozen=True)
class VoiceChanged:
    """Louder, quieter, slower or faster."""

    how: str


TalkEvent = Offered | Chosen | Paused | Resumed | VoiceChanged
