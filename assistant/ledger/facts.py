"""What the ledger keeps of a job: one row of plain values, and one for each of its pulls.

Each value is the one `pullcall review JOB` reports, worked out by the same functions; figures as floats, because tables
have no fractions.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from assistant.core import events as ev
from assistant.core.band import Construction, Figure, Verdict, figure_for, percent
from assistant.core.order import Direction
from assistant.core.state import State
from assistant.record.crew import carried_from, crew_of
from assistant.record.summary import (
    NOT_MADE,
    SKIPPED,
    PullSummary,
    losses_of,
    margin_of,
    pulls_of,
    worst_mark,
    worst_of,
)

NOT_RECORDED = "not recorded"

WHOLE = "closed"
OPEN = "not closed"
DAMAGED = "damaged"
NEWER = "newer"
EMPTY = "empty"
UNREADABLE = "unreadable"
BUSY = "in use"
CARRIED = "carried on"
COPY = "copy"


class PullFacts(NamedTuple):
    """One pull of a job's plan. A tuple: a folder has a hundred thousand, and tuples turn into columns at once."""

    number: int
    """From 1, through the whole job."""
    pass_number: int
    direction: str
    """'length' or 'cross'."""
    span_in: float
    """Inches, head wall to tail."""
    mark: str
    """'short', 'in band', 'over', 'no verdict', 'skipped' or 'not made'."""
    percent: float | None
    """Stretch after hooking in per cent of the span; None without an outcome."""
    measured: bool | None
    """On the measurement after hooking; False = estimated, None = no outcome."""
    margin: float | None
    """Percentage points to the nearer limit of the band, below 0 outside; None without band or outcome."""
    fall_back: float | None
    """What hooking lost in per cent of the span, where it was measured."""
    bites: int
    """Readings taken, one after each bite."""
    skipped: str | None
    """The reason."""
    notes: int
    """Wrinkles, seams, loose or damaged places noted."""


class JobFacts(NamedTuple):
    """One job file."""

    file: str
    """Path below the folder reviewed, with '/'."""
    state: str
    """'closed', 'not closed', 'damaged', 'newer', 'empty', 'unreadable' or 'in use'; see twice.py for two more."""
    trouble: str
    """Why it is not read to its end or not counted; '' = it is."""
    job: str
    """Its number as told; '' = none."""
    practice: bool
    """Made on a simulated carpet."""
    crew: str
    person: str
    carpet: str
    """Construction and whose figure governs its length, as in 'tufted synthetic, maker'."""
    begun: str
    """Wall time of the first row, ISO 8601; '' = no rows."""
    month: str
    """Of it, as '2026-03'."""
    carried_from: str
    """Name of the file this one went on from after a disk error; '' = none."""
    rows: int
    """Rows that can be trusted."""
    pull_count: int
    short: int
    in_band: int
    over: int
    unjudged: int
    """Nobody gave a figure."""
    skipped: int
    not_made: int
    mark: str
    """The gravest mark of its pulls."""
    share_in_band: float | None
    """Of the pulls with a verdict; None where there is none."""
    worst_pull: int | None
    """Number of the pull furthest outside its band, or nearest to a limit."""
    worst_margin: float | None
    """Its margin, percentage points."""
    average_length: float | None
    """Mean stretch of the pulls made along the length, per cent."""
    average_cross: float | None
    fall_back: float | None
    """What hooking usually lost, median per cent of the span; None where it was not measured."""
    bites: float | None
    """Readings for each pull that was hooked with an outcome."""


_COUNTED = (Verdict.SHORT.value, Verdict.IN_BAND.value, Verdict.OVER.value, Verdict.NONE.value, SKIPPED, NOT_MADE)
Facts = tuple[JobFacts, tuple[PullFacts, ...]]
JOB_NAMES = JobFacts._fields
PULL_NAMES = PullFacts._fields


@dataclass(frozen=True, slots=True)
class Cover:
    """What is known of a job apart from its state."""

    file: str
    rows: int
    begun: str
    trouble: str
    newer: bool
    practice: bool
    crew: str
    person: str
    carried_from: str = ""


def cover_of(
    file: str, rows: int, begun: str, told: Sequence[ev.Event], *, trouble: str = "", newer: bool = False
) -> Cover:
    """From what a job's log tells."""
    practice = any(isinstance(each, ev.Started) and each.practice for each in told)
    return Cover(file, rows, begun, trouble, newer, practice, *crew_of(told), carried_from(told))


def unread(file: str, state: str, trouble: str) -> Facts:
    """A file that gives no rows."""
    return facts_of(State(), Cover(file, 0, "", trouble, False, False, "", ""), state)


class Whole(NamedTuple):
    """What is said of a job beside its pulls, or worked out over all of them."""

    job: str
    """Its number as told."""
    carpet: str
    finished: bool
    worst: int | None
    """Number of the pull furthest outside its band, or nearest to a limit."""
    margin: float | None
    """Of that pull, percentage points."""
    length: float | None
    """Mean stretch along the length, per cent."""
    cross: float | None
    lost: float | None
    """What hooking usually lost, median per cent of the span."""


def facts_of(state: State, cover: Cover, kind: str = "") -> Facts:
    """The facts of a job folded to `state`; `kind` = its state where the cover does not say it."""
    pulls = pulls_of(state)
    worst, lost = worst_of(pulls), losses_of(state).seen(*Direction)
    told = Whole(
        state.job,
        carpet_of(state.construction, state.maker.get(Direction.LENGTH)),
        state.finished,
        None if worst is None else worst.pull.number,
        None if worst is None else exact_float(margin_of(worst)),
        exact_float(_average(pulls, Direction.LENGTH)),
        exact_float(_average(pulls, Direction.CROSS)),
        None if lost is None else float(lost.usual),
    )
    return job_facts(told, cover, [_pull(each) for each in pulls], kind)


def job_facts(whole: Whole, cover: Cover, pulls: Sequence[PullFacts], kind: str = "") -> Facts:
    """The row of a job from those of its pulls; `kind` = its state where the cover does not say it."""
    marks = [each.mark for each in pulls]
    counts = {mark: marks.count(mark) for mark in set(marks)}
    short, in_band, over, unjudged, skipped, not_made = (counts.get(each, 0) for each in _COUNTED)
    judged = short + in_band + over
    bites = [each.bites for each in pulls if each.percent is not None]
    return JobFacts(
        file=cover.file,
        state=kind or _kind(cover, finished=whole.finished),
        trouble=cover.trouble,
        job=whole.job,
        practice=cover.practice,
        crew=cover.crew or NOT_RECORDED,
        person=cover.person or NOT_RECORDED,
        carpet=whole.carpet,
        begun=cover.begun,
        month=cover.begun[:7] or NOT_RECORDED,
        carried_from=cover.carried_from,
        rows=cover.rows,
        pull_count=len(pulls),
        short=short,
        in_band=in_band,
        over=over,
        unjudged=unjudged,
        skipped=skipped,
        not_made=not_made,
        mark=worst_mark(counts),
        share_in_band=in_band / judged if judged else None,
        worst_pull=whole.worst,
        worst_margin=whole.margin,
        average_length=whole.length,
        average_cross=whole.cross,
        fall_back=whole.lost,
        bites=sum(bites) / len(bites) if bites else None,
    ), tuple(pulls)


def _kind(cover: Cover, *, finished: bool) -> str:
    if cover.newer:
        return NEWER
    if cover.trouble:
        return DAMAGED
    return WHOLE if finished else OPEN


def carpet_of(construction: Construction | None, maker: Figure | None) -> str:
    """How the carpet is made and whose figure governs its length; `maker` = the maker's figure for it."""
    if construction is None:
        return NOT_RECORDED
    return f"{construction.value.replace('_', ' ')}, {vouch(figure_for(construction, maker))}"


def vouch(figure: Figure | None) -> str:
    """Whose figure governs, in words."""
    if figure is None:
        return "no figure"
    return "maker's figure" if figure.from_maker else "default figure"


def _average(pulls: Sequence[PullSummary], direction: Direction) -> Fraction | None:
    made = [each.percent for each in pulls if each.pull.direction is direction and each.percent is not None]
    return sum(made, Fraction(0)) / len(made) if made else None


def _pull(each: PullSummary) -> PullFacts:
    pull, record, outcome = each.pull, each.record, each.outcome
    return PullFacts(
        number=pull.number,
        pass_number=each.pass_number,
        direction=pull.direction.value,
        span_in=float(pull.span.inches),
        mark=each.mark,
        percent=exact_float(each.percent),
        measured=outcome.measured if outcome is not None else None,
        margin=exact_float(margin_of(each)),
        fall_back=None if record.fall_back is None else float(percent(record.fall_back, pull.stretched)),
        bites=len(record.readings),
        skipped=record.skipped or None,
        notes=len(record.notes),
    )


def exact_float(value: Fraction | None) -> float | None:
    """For a table: the nearest float."""
    return None if value is None else float(value)
