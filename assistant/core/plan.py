"""The plan: every pull of a job in its order, with position, span and band."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from assistant.core import trade
from assistant.core.band import Band, Figure, band
from assistant.core.layout import HeadRule, Layout, Yielded, lay_out
from assistant.core.length import Length, feet, tape
from assistant.core.order import Direction, Order, Part, PassRule
from assistant.core.room import Axis, Corner, Room, Wall


@dataclass(frozen=True)
class Pull:
    """One placing of the head."""

    number: int
    """From 1, through the whole job."""
    direction: Direction
    axis: Axis
    wall: Wall
    """The wall the head pulls towards."""
    position: Length
    """Head centre from the start corner along that wall, exact."""
    called_position: Length
    """The position as called out: to the half inch, or to the centimetre."""
    span: Length
    band: Band | None
    """None where nobody gave a figure: no verdict."""


@dataclass(frozen=True)
class Pass:
    """One direction's set of pulls."""

    number: int
    """From 1."""
    rule: PassRule
    pulls: tuple[Pull, ...]


@dataclass(frozen=True)
class Caution:
    """Something to know, never a block."""

    about: str
    """What it concerns, a key of the messages: 'wide_strip', 'gap_over' ..."""
    text: str
    """One plain sentence with its figures."""
    source: str


@dataclass(frozen=True)
class Figures:
    """What governs each direction of the carpet; a missing direction has no verdict."""

    by_direction: Mapping[Direction, Figure | None]

    def of(self, direction: Direction) -> Figure | None:
        """The governing figure, None = no verdict."""
        return self.by_direction.get(direction)


@dataclass(frozen=True)
class Job:
    """All that a plan is made from."""

    room: Room
    corner: Corner
    lay: Axis
    """The axis along which the carpet's length runs."""
    figures: Figures
    order: Order
    head: HeadRule = field(default_factory=HeadRule)

    def axis(self, direction: Direction) -> Axis:
        """The room's axis that a direction of the carpet runs along."""
        return self.lay if direction is Direction.LENGTH else self.lay.other


@dataclass(frozen=True)
class Plan:
    """What is to be done, in order."""

    job: Job
    passes: tuple[Pass, ...]
    cautions: tuple[Caution, ...]

    @cached_property
    def pulls(self) -> tuple[Pull, ...]:
        """Every pull in the order it is made."""
        return tuple(pull for each in self.passes for pull in each.pulls)

    def pass_of(self, pull: Pull) -> Pass:
        """The pass that makes this pull."""
        return next(each for each in self.passes if pull in each.pulls)


def make_plan(job: Job) -> Plan:
    """Lay out both walls, share the pulls out over the order's passes, gather the cautions."""
    layouts = {each: lay_out(job.room.span(job.axis(each).other), job.head) for each in Direction}
    passes: list[Pass] = []
    number, done = 0, dict.fromkeys(Direction, 0)
    for rule in job.order.passes:
        centres = _centres(rule, layouts[rule.direction], done[rule.direction])
        pulls = tuple(_pull(job, rule.direction, at, number + i) for i, at in enumerate(centres, start=1))
        done[rule.direction] += len(centres)
        number += len(centres)
        if pulls:
            passes.append(Pass(len(passes) + 1, rule, pulls))
    return Plan(job, tuple(passes), _cautions(job, layouts))


def _centres(rule: PassRule, layout: Layout, done: int) -> tuple[Length, ...]:
    left = layout.centres[done:]
    if rule.part is Part.REST:
        return left
    run = Length(trade.TIE_OFF_RUN.value)
    inside = tuple(each for each in left if each <= run)
    return inside or left[:1]


def _pull(job: Job, direction: Direction, position: Length, number: int) -> Pull:
    axis = job.axis(direction)
    span, figure = job.room.span(axis), job.figures.of(direction)
    towards = job.corner.walls[axis].opposite
    limits = None if figure is None else band(span, figure, job.room.system)
    called = position.nearest(job.room.system.position_step)
    return Pull(number, direction, axis, towards, position, called, span, limits)


_YIELD_TEXT = {
    Yielded.GAP_OVER: "no even layout fits: gaps of {gap} between heads",
    Yielded.GAP_UNDER: "no even layout fits: heads only {gap} apart",
    Yielded.HEAD_WIDER: "the wall is shorter than the head is wide",
}


def _cautions(job: Job, layouts: Mapping[Direction, Layout]) -> tuple[Caution, ...]:
    found: list[Caution] = []
    for direction, layout in layouts.items():
        axis, system = job.axis(direction), job.room.system
        span = job.room.span(axis)
        name = f"{direction.value} pulls"
        if layout.yielded is not Yielded.NONE:
            text = _YIELD_TEXT[layout.yielded].format(gap=tape(layout.gap, system))
            found.append(Caution(f"layout: {layout.yielded.value}", f"{name}: {text}", trade.GAP_MOST.source))
        if span > feet(trade.WIDE_STRIP_SPAN.value):
            text = f"{name}: the span of {tape(span, system)} is over 30 ft; use wide strip or two rows"
            found.append(Caution("wide strip", text, trade.WIDE_STRIP_SPAN.source))
        figure = job.figures.of(direction)
        if figure is None:
            text = f"{name}: the maker gives no figure for this carpet, so there is no verdict"
            found.append(Caution("no verdict", text, trade.LEAST_STRETCH.source))
        elif band(span, figure, system).empty:
            text = f"{name}: no mark of the tape lies between least and most on {tape(span, system)}"
            found.append(Caution("empty band", text, "arithmetic"))
    return tuple(found)
