"""The plan: every pull of a job in its order, with position, span, band and tubes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256

from assistant.core.band import Figure, band
from assistant.core.caution import Caution
from assistant.core.chord import Caster
from assistant.core.compass import Axis, Corner, Wall
from assistant.core.deadman import MIDDLE
from assistant.core.kit import Build, Kit, Shortage
from assistant.core.layout import HeadRule
from assistant.core.length import Length
from assistant.core.order import Direction, End, Order, Part, PassRule
from assistant.core.plan_cautions import plan_cautions
from assistant.core.pull import Pass, Pull, stretched
from assistant.core.room import Room
from assistant.core.row import Placed, Row, leaning, row
from assistant.core.tubes import builds

__all__ = ["Caution", "Figures", "Job", "Pass", "Plan", "Pull", "make_plan"]


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
    kit: Kit | None = None
    """None = no tubes are worked out."""
    distance: Length = MIDDLE
    """Of the head from the wall, for the tubes."""

    def axis(self, direction: Direction) -> Axis:
        """The room's axis that a direction of the carpet runs along."""
        return self.lay if direction is Direction.LENGTH else self.lay.other

    def side(self, direction: Direction, end: End) -> Wall:
        """The side of the room at that end of a direction."""
        home = self.corner.walls[self.axis(direction)]
        return home if end is End.HOME else home.opposite

    def beside(self, direction: Direction) -> Wall:
        """The start corner's side along which a direction's pulls begin."""
        return self.corner.walls[self.axis(direction).other]


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

    @cached_property
    def fingerprint(self) -> str:
        """16 hex digits of SHA-256 over what is called out and judged by: it tells whether two plans are the same."""
        told = [
            f"{each.number} {each.direction.value} {each.wall_number} {each.called_position.inches} {each.span.inches} "
            f"{each.angle} {each.band and (each.band.least.inches, each.band.most and each.band.most.inches)}"
            + (f" {each.parts} parts" if each.parts > 1 else "")
            for each in self.pulls
        ]
        return sha256("\n".join(told).encode()).hexdigest()[:16]

    def pass_of(self, pull: Pull) -> Pass:
        """The pass that makes this pull."""
        return next(each for each in self.passes if pull in each.pulls)


def make_plan(job: Job) -> Plan:
    """Place the heads on every wall, share them out over the order's passes, gather the cautions."""
    caster = Caster(job.room.floor)
    rows = _rows(job, caster)
    passes: list[Pass] = []
    tied: dict[Direction, Length] = {}
    number = 0
    for rule in job.order.passes:
        placed = _due(rows[rule.direction, rule.towards], rule, job.order.tie_off_run, tied)
        placed = _angled(job, caster, rule, placed)
        pulls = _pulls(job, rule, placed, number + 1)
        number += len(pulls)
        if pulls:
            passes.append(Pass(len(passes) + 1, rule, pulls))
    by_side = {job.side(*each): line for each, line in rows.items()}
    return Plan(job, tuple(passes), plan_cautions(job.room, job.figures.by_direction, by_side, passes))


def _rows(job: Job, caster: Caster) -> dict[tuple[Direction, End], Row]:
    ways = dict.fromkeys((rule.direction, rule.towards) for rule in job.order.passes)
    return {(way, end): row(caster, job.side(way, end), job.beside(way), job.head) for way, end in ways}


def _due(line: Row, rule: PassRule, run: Length, tied: dict[Direction, Length]) -> tuple[Placed, ...]:
    """The heads of this pass: a tie-off takes those within the run, at least the first; the rest those beyond it."""
    if rule.part is Part.REST:
        done = tied.get(rule.direction)
        return line.placed if done is None else tuple(each for each in line.placed if each.across > done)
    limit = max(run, min((each.across for each in line.placed), default=run))
    tied[rule.direction] = limit
    return tuple(each for each in line.placed if each.across <= limit)


def _angled(job: Job, caster: Caster, rule: PassRule, placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
    """With the first pull leaning into its corner, where the pass asks for it."""
    if not rule.first_angle or not placed:
        return placed
    towards, home = job.side(rule.direction, rule.towards), job.beside(rule.direction)
    return leaning(caster, placed[0], towards, home, rule.first_angle), *placed[1:]


def _pulls(job: Job, rule: PassRule, placed: Sequence[Placed], first: int) -> tuple[Pull, ...]:
    """Numbered from `first` on."""
    axis, system, figure = job.axis(rule.direction), job.room.system, job.figures.of(rule.direction)
    wall, step = job.side(rule.direction, rule.towards), system.position_step
    tubes = _tubes(job, placed)
    at_a_time = [stretched(each.chord.span, build) for each, build in zip(placed, tubes, strict=True)]
    # Between walls that run alike all spans are one: its band is worked out once.
    bands = {} if figure is None else {each: band(each, figure, system) for each in set(at_a_time)}
    return tuple(
        Pull(
            number=number,
            direction=rule.direction,
            axis=axis,
            wall=wall,
            wall_number=each.wall,
            position=each.position,
            called_position=each.position.nearest(step),
            span=each.chord.span,
            band=bands.get(at_once),
            head_at=each.head_at,
            tail_at=each.tail_at,
            angle=each.angle,
            flag=each.flag,
            build=build,
        )
        for number, (each, build, at_once) in enumerate(zip(placed, tubes, at_a_time, strict=True), start=first)
    )


def _tubes(job: Job, placed: Sequence[Placed]) -> Sequence[Build | Shortage | None]:
    if job.kit is None:
        return [None] * len(placed)
    return builds(job.kit, [each.chord.span for each in placed], job.distance)
