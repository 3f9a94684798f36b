"""The panel: all that one moment of a session shows, as plain values. Every screen draws this and nothing else."""

import json
from dataclasses import asdict, dataclass

from assistant.cues import Cue
from assistant.screen.badge import Badge
from assistant.screen.choices import Choice, Pad
from assistant.screen.room_picture import RoomPicture


@dataclass(frozen=True)
class Place:
    """Where the session is."""

    job: str
    """The job's number, '' before it has one."""
    pass_number: int = 0
    """From 1; 0 = before the plan or after the last pull."""
    passes: int = 0
    pull: int = 0
    pulls: int = 0
    """Of the whole job."""
    left: int = 0
    """Pulls to come, the present one included."""
    wall: str = ""
    """The wall pulled to: 'far wall', 'wall 3'."""

    def __str__(self) -> str:
        """On one line."""
        parts = [f"Job {self.job}" if self.job else "New job"]
        if self.pass_number:
            parts += [f"pass {self.pass_number} of {self.passes}", f"pull {self.pull} of {self.pulls}", self.wall]
        return "   ".join(parts)


@dataclass(frozen=True)
class Content:
    """The large part of the panel."""

    instruction: str
    """What to do."""
    value: str
    """The figure or the word it is about: what is drawn largest."""
    badge: Badge | None = None
    """The verdict on `value`."""
    beside: str = ""
    """In the badge's place where there is none: the position, or a hint."""


@dataclass(frozen=True)
class Panel:
    """One moment of a session."""

    turn: int
    """Counts the utterances taken; a tap names the turn it answers, so that a late one is not taken for another."""
    ask: str
    """The ask that is open; '' = the job is finished."""
    question: str
    """The question as it is shown in full."""
    content: Content
    target: str = ""
    """'least 1 1/2 in, most 2 1/8 in'; '' away from a pull."""
    last: str = ""
    """The last readings at this pull, or what became of the pull before."""
    place: Place = Place("")
    room: RoomPicture | None = None
    heard: str = ""
    """What was heard or tapped last; '' = nothing yet."""
    understood: bool = True
    answers: tuple[str, ...] = ()
    """What was answered, as it is shown, the question not included."""
    notes: tuple[str, ...] = ()
    """Answers that are only shown, such as cautions: to be read before going on."""
    misses: int = 0
    """How often in a row nothing was understood: at 2 the list is shown, at 3 the keys are offered."""
    keys: tuple[Choice, ...] = ()
    """The big keys."""
    listed: tuple[Choice, ...] = ()
    """All that can be said and tapped."""
    pads: tuple[Pad, ...] = ()
    code: str = ""
    """The job code, once the job is closed."""
    cue: Cue | None = None
    """What became of the utterance: its sign is the visual twin of the tone that was sounded; None = no tone."""

    def pad(self, name: str) -> Pad:
        """The pad of that name. Raises StopIteration for one this ask does not have."""
        return next(each for each in self.pads if each.name == name)

    def as_json(self) -> str:
        """For a screen in another process."""
        return json.dumps(asdict(self), ensure_ascii=False)
