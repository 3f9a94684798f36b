"""What happened on a job. The state is the fold of these; nothing else is remembered."""

from dataclasses import dataclass, field
from fractions import Fraction

from assistant.core.band import Construction, Figure
from assistant.core.deadman import MIDDLE
from assistant.core.floor import Opening
from assistant.core.kit import Kit
from assistant.core.layout import HeadRule
from assistant.core.length import Length, System
from assistant.core.log_events import LogEvent
from assistant.core.log_events import Unknown as Unknown
from assistant.core.meaning import Quantity
from assistant.core.order import Direction, Order
from assistant.core.room import Axis, Corner, Wall
from assistant.core.talk_events import Chosen as Chosen
from assistant.core.talk_events import Offered as Offered
from assistant.core.talk_events import Paused as Paused
from assistant.core.talk_events import Resumed as Resumed
from assistant.core.talk_events import TalkEvent
from assistant.core.talk_events import VoiceChanged as VoiceChanged
from assistant.core.traverse import ClosureRule

PRACTICE = "PRACTICE"
"""Begins the program's name in a job made on a simulated carpet."""


@dataclass(frozen=True)
class Started:
    """A session began on this job, for the first time or again after a stop.

    Order, head, kit, distance and closure of the first one stand for the whole job.
    """

    program: str
    """Version of pullcall."""
    model: str
    """Name and checksum of the speech model."""
    order: Order
    """Of the passes."""
    head: HeadRule = field(default_factory=HeadRule)
    """The head and its gaps."""
    kit: Kit | None = None
    """The stretcher's pieces; None = no tubes are worked out."""
    distance: Length = MIDDLE
    """Of the head from the wall, for the tubes."""
    closure: ClosureRule = field(default_factory=ClosureRule)
    """How far an outline may fail to close."""
    crew: str = ""
    """Who works in this session, as the settings say; '' = not recorded, as in logs before this field."""
    person: str = ""
    """Likewise."""

    @property
    def practice(self) -> bool:
        """The carpet is a simulated one."""
        return self.program.startswith(PRACTICE)


@dataclass(frozen=True)
class Said:
    """An utterance as heard or tapped, before anything was made of it."""

    ask: str
    """The ask it answered."""
    text: str
    score: float
    """The recogniser's least word confidence, 0 to 1; 1 for taps."""
    by: str
    """'voice' or 'tap'."""


@dataclass(frozen=True)
class Missed:
    """A turn that brought nothing; counted per ask (VoiceXML event names)."""

    kind: str
    """'noinput', 'nomatch' or 'help'."""


@dataclass(frozen=True)
class Refused:
    """A figure that cannot be; it was asked again."""

    why: str
    """Key of the message spoken."""


@dataclass(frozen=True)
class JobNamed:
    """The job's number."""

    digits: str


@dataclass(frozen=True)
class ConstructionChosen:
    """How the carpet is made."""

    construction: Construction


@dataclass(frozen=True)
class FigureSet:
    """The maker's figure for one direction, or that there is none."""

    direction: Direction
    figure: Figure | None


@dataclass(frozen=True)
class PatternSet:
    """What the maker asks for the pattern in one direction, on top of least and most; kept apart from the figure."""

    direction: Direction
    points: Fraction
    """Percentage points."""


@dataclass(frozen=True)
class ConditionNoted:
    """One of the day's conditions as a figure; None = skipped."""

    kind: str
    """One of conditions.KINDS."""
    quantity: Quantity | None


@dataclass(frozen=True)
class ConditionWorded:
    """One of the day's conditions in a word: which strip is down, or that there is no cushion or no slab."""

    kind: str
    word: str


@dataclass(frozen=True)
class ConditionsSkipped:
    """All conditions that were still to be asked: not recorded."""

    kinds: tuple[str, ...]


@dataclass(frozen=True)
class SideSet:
    """A side of the room."""

    axis: Axis
    length: Length
    system: System


@dataclass(frozen=True)
class SidesSet:
    """Both sides at once."""

    length: Length
    width: Length
    system: System


@dataclass(frozen=True)
class OutlineBegun:
    """The room is no rectangle: it is told wall by wall."""


@dataclass(frozen=True)
class WallSet:
    """The outline's next wall."""

    length: Length
    turn: Fraction
    """Degrees to the right at its end; under 0 to the left."""
    system: System


@dataclass(frozen=True)
class WallMended:
    """A wall of the outline measured again; its turn stays."""

    wall: int
    """From 1."""
    length: Length
    system: System


@dataclass(frozen=True)
class OutlineClosed:
    """The walls make a room; the misclosure is spread over them."""

    off: Length
    """The misclosure as it was told."""
    system: System


@dataclass(frozen=True)
class SecondSideSet:
    """The right or the far wall of a rectangle, for the out-of-square check."""

    wall: Wall
    length: Length
    system: System


@dataclass(frozen=True)
class DiagonalSet:
    """From the door's left corner to the far right one."""

    length: Length
    system: System


@dataclass(frozen=True)
class SquareSettled:
    """No more is asked about the room being square."""

    how: str
    """'square' = said to be, 'measured', or 'skipped' = not checked."""


@dataclass(frozen=True)
class OpeningSet:
    """A doorway or a hearth: a stretch of wall without strip."""

    opening: Opening
    system: System
    side: str
    """How the wall was called: 'door', 'far', 'left', 'right', or '' where it was said by number."""


@dataclass(frozen=True)
class OpeningsSettled:
    """No more openings are asked for."""

    how: str
    """'told' or 'skipped' = not recorded."""


@dataclass(frozen=True)
class CornerChosen:
    """Where the job starts."""

    corner: Corner


@dataclass(frozen=True)
class LayChosen:
    """Which way the carpet's length runs; the plan is made."""

    axis: Axis
    plan: str = ""
    """Fingerprint of the plan as it was made then; '' in logs of versions that kept none."""


@dataclass(frozen=True)
class PassBegun:
    """Ready for the pulls of this pass."""

    number: int


@dataclass(frozen=True)
class HeadSet:
    """Distance of the head from the wall at the current pull."""

    distance: Length


@dataclass(frozen=True)
class ReadingTaken:
    """How far the mark has moved at the current pull."""

    moved: Length
    manner: str
    """'strong', 'light' or ''."""


@dataclass(frozen=True)
class Slipped:
    """The head slipped: the next reading may be smaller."""


@dataclass(frozen=True)
class Hooked:
    """The current pull's backing is on the pins."""

    measure: bool | None = None
    """The measurement after hooking is asked for; None = by the first rule, as logs before this field were made."""


@dataclass(frozen=True)
class HoldTaken:
    """The measurement after hooking; None = skipped."""

    moved: Length | None
    manner: str


@dataclass(frozen=True)
class SkipAsked:
    """The current pull is to be skipped; the reason is still to be said."""


@dataclass(frozen=True)
class PullSkipped:
    """The current pull is left out."""

    reason: str


@dataclass(frozen=True)
class PullReopened:
    """Back to a pull: it is pulled again."""

    number: int


@dataclass(frozen=True)
class NoteMade:
    """Wrinkle, seam, loose or damage at a pull."""

    kind: str
    pull: int = 0
    """Number of the pull; 0 = the current one, as in logs before this field."""


@dataclass(frozen=True)
class Proposed:
    """An event that waits for an explicit yes."""

    event: "Event"
    why: str
    """Key of the question asked."""


@dataclass(frozen=True)
class Confirmed:
    """Yes to what was proposed."""


@dataclass(frozen=True)
class Rejected:
    """No to what was proposed, or cancelled."""


@dataclass(frozen=True)
class Scratched:
    """The last thing that changed the job is undone."""


@dataclass(frozen=True)
class JobFinished:
    """Walked round and closed."""


Event = (
    Started
    | Said
    | Missed
    | Refused
    | JobNamed
    | ConstructionChosen
    | FigureSet
    | PatternSet
    | ConditionNoted
    | ConditionWorded
    | ConditionsSkipped
    | SideSet
    | SidesSet
    | OutlineBegun
    | WallSet
    | WallMended
    | OutlineClosed
    | SecondSideSet
    | DiagonalSet
    | SquareSettled
    | OpeningSet
    | OpeningsSettled
    | CornerChosen
    | LayChosen
    | PassBegun
    | HeadSet
    | ReadingTaken
    | Slipped
    | Hooked
    | HoldTaken
    | SkipAsked
    | PullSkipped
    | PullReopened
    | NoteMade
    | Proposed
    | Confirmed
    | Rejected
    | Scratched
    | JobFinished
    | TalkEvent
    | LogEvent
)
