"""Where a job stands. Every value follows from the events; see fold.py."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from assistant.core.advice import FallBack, fall_back
from assistant.core.band import Construction, Figure
from assistant.core.events import Event
from assistant.core.layout import HeadRule
from assistant.core.length import Length, System
from assistant.core.meaning import Quantity
from assistant.core.order import Direction, Order
from assistant.core.plan import Pass, Plan, Pull
from assistant.core.record import PullRecord, Status
from assistant.core.room import Axis, Corner, Room
from assistant.core.tone import PLAIN, Tone


@dataclass(frozen=True)
class Misses:
    """Turns that brought nothing at the present ask (VoiceXML practice: counted per ask)."""

    noinput: int = 0
    nomatch: int = 0
    help: int = 0

    @property
    def misheard(self) -> int:
        """How often in a row the installer was not understood here."""
        return self.noinput + self.nomatch


@dataclass(frozen=True)
class State:
    """One job between two utterances."""

    order: Order | None = None
    head: HeadRule = field(default_factory=HeadRule)
    job: str = ""
    construction: Construction | None = None
    maker: Mapping[Direction, Figure | None] = field(default_factory=dict)
    """The maker's figures; None = asked, and there is none."""
    conditions: Mapping[str, Quantity | None] = field(default_factory=dict)
    """None = skipped."""
    sides: Mapping[Axis, Length] = field(default_factory=dict)
    """Confirmed sides of the room."""
    system: System | None = None
    """The tape of the first confirmed side; the room keeps to it."""
    corner: Corner | None = None
    plan: Plan | None = None
    records: tuple[PullRecord, ...] = ()
    """One per pull of the plan, in its order."""
    at: int = 0
    """Index of the present pull; the number of pulls once all are made."""
    begun: int = 0
    """Number of the last pass the installer was ready for."""
    asking_reason: bool = False
    """The present pull is to be skipped; the reason is asked."""
    proposed: Event | None = None
    """Waits for an explicit yes."""
    why: str = ""
    """The question it waits under."""
    misses: Misses = Misses()
    tone: Tone = PLAIN
    """How the voice was asked to sound."""
    paused: bool = False
    finished: bool = False
    before: "State | None" = field(default=None, compare=False, repr=False)
    """The state before the last change, for 'scratch that'."""

    @property
    def room(self) -> Room | None:
        """The room once both sides are confirmed."""
        if len(self.sides) < len(Axis) or self.system is None:
            return None
        return Room(self.sides[Axis.DOOR_TO_FAR], self.sides[Axis.LEFT_TO_RIGHT], self.system)

    @property
    def tape(self) -> System:
        """The tape figures are told on; feet and inches until a side is confirmed."""
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
    def loss(self) -> FallBack | None:
        """The room's fall-back estimate so far."""
        return fall_back(self.records)

    @property
    def left(self) -> int:
        """Pulls still to come, the present one included."""
        return sum(each.status is Status.TO_COME for each in self.records)
