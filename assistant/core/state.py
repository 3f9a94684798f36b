"""Where a job stands. Every value follows from the events; see fold.py."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from assistant.core import advice, conditions
from assistant.core.advice import FallBack, Losses, Move, gain_between
from assistant.core.band import Construction, Figure
from assistant.core.conditions import Noted
from assistant.core.deadman import MIDDLE
from assistant.core.events import Event, SideSet, SidesSet
from assistant.core.floor import Opening
from assistant.core.kit import Kit
from assistant.core.layout import HeadRule
from assistant.core.length import Length, System
from assistant.core.meaning import Candidate
from assistant.core.order import Direction, Order
from assistant.core.outline import Leg, Outline
from assistant.core.plan import Pass, Plan, Pull
from assistant.core.record import PullRecord, Status
from assistant.core.room import Axis, Corner, Room, Wall
from assistant.core.standing import Standing
from assistant.core.tone import PLAIN, Tone
from assistant.core.traverse import ClosureRule


@dataclass(frozen=True)
class Misses:
    """Turns that brought nothing at the present ask (VoiceXML practice: counted per ask)."""

    noinput: int = 0
    nomatch: int = 0
    help: int = 0

    @property
    def worst(self) -> int:
        """The highest count of silence or of speech that was not understood; each has its own course."""
        return max(self.noinput, self.nomatch)


@dataclass(frozen=True)
class State:
    """One job between two utterances."""

    order: Order | None = None
    head: HeadRule = field(default_factory=HeadRule)
    kit: Kit | None = None
    distance: Length = MIDDLE
    """Of the head from the wall, for the tubes."""
    closure: ClosureRule = field(default_factory=ClosureRule)
    """How far an outline may fail to close."""
    job: str = ""
    construction: Construction | None = None
    maker: Mapping[Direction, Figure | None] = field(default_factory=dict)
    """The maker's figures; None = asked, and there is none."""
    patterns: Mapping[Direction, Fraction] = field(default_factory=dict)
    """Percentage points asked for the pattern, on top of the figure."""
    conditions: Mapping[str, Noted] = field(default_factory=dict)
    """What was asked of the day, a skipped one included."""
    sides: Mapping[Axis, Length] = field(default_factory=dict)
    """Confirmed sides of the room."""
    system: System | None = None
    """The tape of the first confirmed side; the room keeps to it."""
    legs: tuple[Leg, ...] | None = None
    """The walls told so far of a room told wall by wall; None = it is no such room."""
    outline: Outline | None = None
    """Those walls, once they are closed."""
    seconds: Mapping[Wall, Length] = field(default_factory=dict)
    """The right and the far wall of a rectangle, where they were measured too."""
    diagonal: Length | None = None
    squared: str = ""
    """How it was settled whether the room is square: 'square', 'measured' or 'skipped'; '' = not yet."""
    openings: tuple[Opening, ...] = ()
    openings_settled: str = ""
    """'told' or 'skipped'; '' = not yet."""
    corner: Corner | None = None
    plan: Plan | None = None
    otherwise: bool = False
    """This version plans the room otherwise than the one that made the job: what was called out then is not `plan`."""
    records: tuple[PullRecord, ...] = ()
    """One per pull of the plan, in its order."""
    at: int = 0
    """Index of the present pull; the number of pulls once all are made."""
    begun: int = 0
    """Number of the last pass the installer was ready for."""
    standing: Standing = field(default=Standing(), compare=False)
    """Of the stretcher, before the present pull. 'Scratch that' takes back what is known, not what was called out."""
    asking_reason: bool = False
    """The present pull is to be skipped; the reason is asked."""
    proposed: Event | None = None
    """Waits for an explicit yes."""
    why: str = ""
    """The question it waits under."""
    offered: tuple[Candidate, ...] = ()
    """What the last utterance may have been; which one is asked."""
    misses: Misses = Misses()
    tone: Tone = PLAIN
    """How the voice was asked to sound."""
    paused: bool = False
    finished: bool = False
    before: "State | None" = field(default=None, compare=False, repr=False)
    """The state before the last change, for 'scratch that'."""

    def after(self, before: "State") -> "State":
        """This state, reached from `before` by a change: the way back is known, nothing is offered or missed."""
        # What is worked out (`own_loss`) rests on none of the three.
        return _with(self, before=before, offered=(), misses=Misses())

    def with_record(self, record: PullRecord) -> "State":
        """This state with another record of the present pull; itself where there is no pull."""
        at = self.at
        if self.pull is None:
            return self
        changed = _with(self, records=(*self.records[:at], record, *self.records[at + 1 :]))
        vars(changed).pop("own_loss", None)
        return changed

    @property
    def conditions_waiting(self) -> tuple[str, ...]:
        """Conditions still to be asked; none once the room is begun, for older logs know fewer of them."""
        return () if self.sides or self.legs is not None else conditions.waiting(self.construction, self.conditions)

    @property
    def room(self) -> Room | None:
        """The room once both sides are confirmed or its outline is closed."""
        if self.system is None:
            return None
        if self.outline is not None:
            length, width = self.outline.extent(Axis.DOOR_TO_FAR), self.outline.extent(Axis.LEFT_TO_RIGHT)
            return Room(length, width, self.system, outline=self.outline, openings=self.openings)
        if len(self.sides) < len(Axis):
            return None
        length, width = self.sides[Axis.DOOR_TO_FAR], self.sides[Axis.LEFT_TO_RIGHT]
        right, far = self.seconds.get(Wall.RIGHT), self.seconds.get(Wall.FAR)
        return Room(length, width, self.system, right, far, self.diagonal, openings=self.openings)

    @property
    def room_waiting(self) -> str:
        """What is still asked of the room: 'size', 'wall', 'square', 'openings' or ''.

        A job that has its start corner is asked no more: older logs went there straight from the size.
        """
        if self.room is None:
            return "size" if self.legs is None else "wall"
        if self.corner is not None:
            return ""
        if self.outline is None and not self.squared:
            return "square"
        return "" if self.openings_settled else "openings"

    @property
    def tape(self) -> System:
        """The tape figures are told on: the room's, or that of the side waiting for its yes; else feet and inches."""
        if self.system is None and isinstance(self.proposed, SideSet | SidesSet):
            return self.proposed.system
        return self.system or System.IMPERIAL

    @property
    def pull(self) -> Pull | None:
        """The present pull; None before the plan and after the last one."""
        if self.plan is None or self.at >= len(self.records):
            return None
        return self.plan.pulls[self.at]

    @property
    def record(self) -> PullRecord:
        """What became of the present pull so far; an empty record where there is no pull."""
        return self.records[self.at] if self.at < len(self.records) else PullRecord()

    @property
    def present_pass(self) -> Pass | None:
        """The pass of the present pull."""
        return self.plan.pass_of(self.pull) if self.plan is not None and self.pull is not None else None

    @cached_property
    def own_loss(self) -> FallBack | None:
        """What hooking is expected to lose at the present pull."""
        if self.plan is None or self.pull is None:
            return None
        return Losses(self.plan.pulls, self.records).at(self.pull)

    @property
    def gain(self) -> Length | None:
        """What a bite brings at the present pull: as it went here, else at the pull of the same direction before."""
        here = self.pull
        if self.plan is None or here is None:
            return None
        made = list(zip(self.plan.pulls[: self.at + 1], self.records, strict=False))
        own = (each for pull, each in reversed(made) if pull.direction is here.direction)
        return next((gain for each in own if (gain := gain_between(each)) is not None), None)

    def move_at(self, moved: Length) -> Move | None:
        """What to do at a reading of `moved` at the present pull, for every voice and screen; None without a figure."""
        if self.pull is None or self.pull.band is None:
            return None
        step = self.tape.graduation
        return advice.move(moved, self.pull.band, self.own_loss, self.gain, step, eased=self.record.eased)

    @property
    def left(self) -> int:
        """Pulls still to come, the present one included."""
        return sum(each.status is Status.TO_COME for each in self.records)


def _with(state: State, **changes: object) -> State:
    """As `replace`, which sets thirty fields one by one, for every event of a log; what is worked out is kept."""
    changed = object.__new__(State)
    vars(changed).update(vars(state), **changes)
    return changed
