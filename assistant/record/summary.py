"""One job as a value: everything the report, the table and the JSON say. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from assistant.core import advice, conditions
from assistant.core import events as ev
from assistant.core.advice import Losses, Outcome, Shares
from assistant.core.band import Construction, Figure, Verdict, as_judged, figure_for, percent, share_as_judged
from assistant.core.caution import Caution
from assistant.core.conditions import Noted
from assistant.core.length import Length, System
from assistant.core.neighbours import jumps
from assistant.core.order import Direction
from assistant.core.plan import Plan, Pull
from assistant.core.record import PullRecord, Status
from assistant.core.reversal import reversals
from assistant.core.room import Axis, Corner, Room
from assistant.core.state import State
from assistant.record import findings
from assistant.record.chain import Row
from assistant.record.clock import ClockJump, clock_jumps
from assistant.record.code import job_code, sealed
from assistant.record.crew import crew_of
from assistant.record.findings import Finding
from assistant.record.history import Moment, histories
from assistant.record.room_rows import room_cautions, room_rows
from assistant.record.tally import Tally, tally
from assistant.record.telling import noted, tell
from assistant.record.timeline import Stretch, timeline
from assistant.record.walk import Step, Walk, walk

SKIPPED = "skipped"
NOT_MADE = "not made"


@dataclass(frozen=True)
class PullSummary:
    """One pull of the plan and what became of it."""

    pull: Pull
    pass_number: int
    record: PullRecord
    outcome: Outcome | None
    """None for a pull that was skipped, not made, or hooked without a reading."""

    @property
    def mark(self) -> str:
        """A verdict's value, 'skipped' or 'not made'."""
        if self.record.status is Status.SKIPPED:
            return SKIPPED
        return self.outcome.verdict.value if self.outcome is not None else NOT_MADE

    @property
    def percent(self) -> Fraction | None:
        """The stretch in per cent of what was stretched at a time, the span or one of its parts."""
        return percent(self.outcome.moved, self.pull.stretched) if self.outcome is not None else None

    @property
    def share(self) -> Fraction | None:
        """`percent` as it is shown: never rounded into another verdict."""
        pull, outcome = self.pull, self.outcome
        return None if outcome is None else share_as_judged(outcome.moved, pull.stretched, pull.band)

    def moved(self, system: System) -> Length | None:
        """The outcome as it is shown: never rounded into another verdict."""
        return None if self.outcome is None else as_judged(self.outcome.moved, self.pull.band, system)

    @property
    def estimated(self) -> bool:
        """The outcome is the reading less what hooking is expected to lose there, not a measurement after hooking."""
        return self.outcome is not None and not self.outcome.measured


@dataclass(frozen=True)
class DirectionSummary:
    """Both figure and verdict of one direction of the carpet."""

    direction: Direction
    figure: Figure | None
    """What governs, the pattern included."""
    pattern: Fraction
    """Percentage points of it that the pattern asks, on top of the maker's or the default figure; kept apart."""
    vouch: str
    """Who gave the figure: 'maker', 'default' or 'none'."""
    spans: tuple[Length, Length] | None
    """The shortest and the longest of its pulls."""
    counts: dict[str, int]
    """Pulls by mark."""
    average: Fraction | None
    """Mean stretch of the pulls made, per cent."""
    lost: Shares | None
    """What hooking was seen to lose; None where it was not measured."""

    @property
    def mark(self) -> str:
        """The direction's verdict: the worst of its pulls."""
        return worst_mark(self.counts)


@dataclass(frozen=True)
class ConditionSummary:
    """One of the day's conditions."""

    kind: str
    noted: Noted | None
    """What was said, if only 'skip'; None = not asked."""
    needless: str
    """Why it was not asked: no slab, cushion attached to the carpet; '' = no such reason."""
    caution: Caution | None
    """For a figure outside its limit, or one not recorded."""

    @property
    def shown(self) -> str:
        """For people: '7/16 in', 'one row', 'not recorded', 'attached to the carpet', 'not asked'."""
        return (self.needless or "not asked") if self.noted is None else noted(self.noted)

    @property
    def state(self) -> str:
        """Against its limit: 'within', 'outside', 'not recorded', 'not asked', or 'nothing to measure'."""
        if self.noted is None:
            return "nothing to measure" if self.needless else "not asked"
        if not self.noted.recorded:
            return "not recorded"
        if self.noted.word in (conditions.NO_CUSHION, conditions.NO_SLAB):
            return "nothing to measure"
        return "within" if self.caution is None else "outside"


@dataclass(frozen=True)
class Heard:
    """Something said or tapped, and what came of it."""

    row: Row
    said: ev.Said | None
    """None where nobody spoke in time."""
    followed: str


@dataclass(frozen=True)
class JobSummary:
    """One job."""

    job: str
    finished: bool
    code: str
    rows: int
    rows_after_code: int
    """Rows added after the one the code stands for."""
    damage: str
    """What kept the job from being read to its end; '' = nothing."""
    understood: int
    """Rows that all of this rests on: not those behind the damage, nor those this version does not know."""
    started: tuple[Row, ...]
    """One per session."""
    programs: tuple[str, ...]
    models: tuple[str, ...]
    end: str
    """Wall time of the last row."""
    construction: Construction | None
    room: Room | None
    room_rows: tuple[tuple[str, str], ...]
    """What was measured of it, by name: walls, misclosure, how square it is, openings."""
    corner: Corner | None
    lay: Axis | None
    order: str
    crew: str
    """'' = not recorded."""
    person: str
    plan: Plan | None
    directions: tuple[DirectionSummary, ...]
    conditions: tuple[ConditionSummary, ...]
    pulls: tuple[PullSummary, ...]
    lost: Shares | None
    """What hooking was seen to lose in both directions together; None where it was not measured."""
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    """Of the plan and of the conditions."""
    timeline: tuple[Stretch, ...]
    clock_jumps: tuple[ClockJump, ...]
    heard: tuple[Heard, ...]
    tally: Tally
    """How often the recogniser may have been wrong."""
    histories: Mapping[int, tuple[Moment, ...]]
    """What happened at each pull, by number; nothing for one that was never come to."""

    @property
    def code_is(self) -> str:
        """What the code stands for where that is not the close: 'so far', 'of these rows'; '' = it is."""
        if self.finished:
            return ""
        return "of these rows" if self.damage else "so far"

    @property
    def practice(self) -> bool:
        """Made on a simulated carpet: no work was done."""
        return any(each.startswith(ev.PRACTICE) for each in self.programs)

    @property
    def system(self) -> System:
        """The tape in use."""
        return self.room.system if self.room is not None else System.IMPERIAL

    @property
    def counts(self) -> dict[str, int]:
        """Pulls by mark."""
        return count(self.pulls)

    @property
    def mark(self) -> str:
        """The job's verdict: the worst of its pulls; 'not made' while it has no plan."""
        return worst_mark(self.counts)

    @property
    def share_in_band(self) -> Fraction | None:
        """Of the pulls with a verdict; None where there is none."""
        judged = sum(self.counts.get(each.value, 0) for each in (Verdict.SHORT, Verdict.IN_BAND, Verdict.OVER))
        return Fraction(self.counts.get(Verdict.IN_BAND.value, 0), judged) if judged else None

    @property
    def worst(self) -> PullSummary | None:
        """The pull furthest short, else furthest over, else with the least room to a limit; None without a verdict."""
        return worst_of(self.pulls)


def count(pulls: Sequence[PullSummary]) -> dict[str, int]:
    """Pulls by mark."""
    found: dict[str, int] = {}
    for each in pulls:
        found[each.mark] = found.get(each.mark, 0) + 1
    return found


WORST_FIRST = (Verdict.SHORT.value, NOT_MADE, Verdict.OVER.value, Verdict.NONE.value, Verdict.IN_BAND.value, SKIPPED)


def worst_mark(counts: dict[str, int]) -> str:
    """The gravest mark that occurs."""
    return next((each for each in WORST_FIRST if counts.get(each)), NOT_MADE)


def worst_of(pulls: Sequence[PullSummary]) -> PullSummary | None:
    """The pull furthest short, else furthest over, else with the least room to a limit; None without a verdict."""
    judged = [(each.mark, margin, each) for each in pulls if (margin := margin_of(each)) is not None]
    return min(judged, key=lambda each: (WORST_FIRST.index(each[0]), each[1]))[2] if judged else None


def margin_of(each: PullSummary) -> Fraction | None:
    """Percentage points to the nearer limit; negative outside."""
    band, outcome = each.pull.band, each.outcome
    if band is None or outcome is None or each.mark == SKIPPED:
        return None
    below = percent(outcome.moved - band.least, each.pull.stretched)
    return below if band.most is None else min(below, percent(band.most - outcome.moved, each.pull.stretched))


def summarise(rows: Sequence[Row], damage: str = "") -> JobSummary:
    """The summary of a job's rows; `damage` is what reading the file found."""
    gone = walk(rows)
    state, seal = gone.state, sealed(rows)
    system = state.system or System.IMPERIAL
    pulls = pulls_of(state)
    begun = [each for each in gone.steps if isinstance(each.event, ev.Started)]
    crew, person = crew_of([each.event for each in begun])
    planned = () if state.plan is None else conditions.with_strip(state.plan.cautions, state.conditions)
    given = (*planned, *room_cautions(state), *conditions.cautions(state.conditions))
    return JobSummary(
        job=state.job,
        finished=state.finished,
        code=job_code(rows),
        rows=len(rows),
        rows_after_code=rows[-1].seq - seal.seq if seal is not None else 0,
        damage=damage or gone.trouble,
        understood=sum(not isinstance(each.event, ev.Unknown) for each in gone.steps),
        started=tuple(each.row for each in begun),
        programs=_distinct(each.event.program for each in begun if isinstance(each.event, ev.Started)),
        models=_distinct(each.event.model for each in begun if isinstance(each.event, ev.Started)),
        end=rows[-1].wall if rows else "",
        construction=state.construction,
        room=state.room,
        room_rows=room_rows(state),
        corner=state.corner,
        lay=state.plan.job.lay if state.plan is not None else None,
        order=state.order.name if state.order is not None else "",
        crew=crew,
        person=person,
        plan=state.plan,
        directions=tuple(_direction(state, each, pulls) for each in (Direction.LENGTH, Direction.CROSS)),
        conditions=tuple(_condition(state, kind, given) for kind in conditions.KINDS),
        pulls=pulls,
        lost=losses_of(state).seen(*Direction),
        findings=_findings(gone, pulls),
        cautions=given,
        timeline=timeline(gone.steps),
        clock_jumps=clock_jumps(rows),
        heard=_heard(gone.steps, system),
        tally=tally(gone.steps),
        histories=histories(gone.steps, system),
    )


def _distinct(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def pulls_of(state: State) -> tuple[PullSummary, ...]:
    """Every pull of the plan with what became of it; none before there is a plan."""
    plan = state.plan
    if plan is None:
        return ()
    made = zip(plan.pulls, state.records, advice.outcomes(plan.pulls, state.records), strict=True)
    return tuple(PullSummary(pull, plan.pass_of(pull).number, record, outcome) for pull, record, outcome in made)


def losses_of(state: State) -> Losses:
    """What hooking was seen to lose at every pull of the plan."""
    return Losses((), ()) if state.plan is None else Losses(state.plan.pulls, state.records)


def _direction(state: State, direction: Direction, pulls: Sequence[PullSummary]) -> DirectionSummary:
    maker = state.maker.get(direction)
    pattern = state.patterns.get(direction, Fraction(0))
    figure = figure_for(state.construction, maker, pattern) if state.construction is not None else maker
    vouch = "none" if figure is None else ("maker" if figure.from_maker else "default")
    own = [each for each in pulls if each.pull.direction is direction]
    made = [each.percent for each in own if each.percent is not None]
    average = sum(made, Fraction(0)) / len(made) if made else None
    spans = [each.pull.span for each in own]
    both = (min(spans), max(spans)) if spans else None
    lost = losses_of(state).seen(direction)
    return DirectionSummary(direction, figure, pattern, vouch, both, count(own), average, lost)


def _condition(state: State, kind: str, given: Sequence[Caution]) -> ConditionSummary:
    caution = next((each for each in given if each.about == kind), None)
    needless = conditions.needless(kind, state.construction, state.conditions)
    return ConditionSummary(kind, state.conditions.get(kind), needless, caution)


def _findings(gone: Walk, pulls: Sequence[PullSummary]) -> tuple[Finding, ...]:
    system = gone.state.system or System.IMPERIAL
    outcomes, records = [(each.pull, each.outcome) for each in pulls], [(each.pull, each.record) for each in pulls]
    state = gone.state
    made = [each.outcome for each in pulls]
    drifts = [] if state.plan is None else advice.drifts(state.plan.passes, state.records, made)
    skipped = [(each.pull, each.record) for each in pulls if each.mark == SKIPPED]
    missing = [each.pull for each in pulls if each.mark == NOT_MADE]
    return findings.in_order(
        (
            *findings.of_pulls(outcomes, system),
            *findings.of_estimates(reversals(state)),
            *findings.of_notes(records),
            *findings.of_gaps(skipped, missing),
            *findings.of_heads(records, system),
            *findings.of_plan(otherwise=state.otherwise),
            *findings.of_jumps(jumps(outcomes)),
            *findings.of_drifts(drifts),
            *findings.of_talk(gone.steps, system),
        )
    )


def _heard(steps: Sequence[Step], system: System) -> tuple[Heard, ...]:
    """Utterances with the events up to the next one; a turn in which nobody spoke stands for itself."""
    found: list[Heard] = []
    for step in steps:
        event = step.event
        if isinstance(event, ev.Said):
            found.append(Heard(step.row, event, ""))
        elif event == ev.Missed("noinput"):
            found.append(Heard(step.row, None, tell(event, system)))
        elif found and not isinstance(event, ev.Started):
            followed = "; ".join(filter(None, (found[-1].followed, tell(event, system))))
            found[-1] = replace(found[-1], followed=followed)
    return tuple(found)
