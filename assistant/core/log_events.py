"""What happened to the log itself. None of these changes the job."""

from dataclasses import dataclass


@dataclass(frozen=True)
class ClockJumped:
    """Since the row before, the wall clock was set or the machine slept; the order of the rows does not rest on it."""

    milliseconds: int
    """By how much wall time outran monotonic time; under 0 = set back."""


@dataclass(frozen=True)
class CarriedOn:
    """The disk failed under the file before: this one began as a copy of its rows and goes on from there."""

    file: str
    """Name of the file before."""
    rows: int
    """How many of its rows were acknowledged; as many stand in front of this one."""
    head: str
    """Hash of the last of them."""


@dataclass(frozen=True)
class SoundKept:
    """The sound of the utterance before was kept because that was asked for. It may be removed at any time."""

    sha256: str
    """Of the WAV file, which is called by it."""
    milliseconds: int


@dataclass(frozen=True)
class Unknown:
    """A kind this version does not know, from a newer log: kept, never guessed at."""

    kind: str
    payload: str


LogEvent = ClockJumped | CarriedOn | SoundKept | Unknown
