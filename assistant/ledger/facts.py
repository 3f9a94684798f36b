"""What the ledger keeps of a job: one row of plain values, and one for each of its pulls.

Each value is the one `pullcall review JOB` reports, worked out by the same functions; figures as floats, because tables
have no fractions.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction

from assistant.core.advice import FallBack
from assistant.core.band import Figure, Verdict, figure_for, percent
from assistant.core.order import Direction
from assistant.core.state import State
from assistant.record.summary import NOT_MADE, SKIPPED, PullSummary, margin_of, pulls_of, worst_mark, worst_of

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


@dataclass(slots=True)
class PullFacts:
    """One pull of a job's plan. Not frozen: a folder has a hundred thousand, and freezing doubles what one costs."""

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


@dataclass(frozen=True, slots=True)
class JobFacts:
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
    """The room's expected loss at hooking, inches."""
    bites: float | None
    """Readings for each pull that was hooked with an outcome."""


Facts = tuple[JobFacts, tuple[PullFacts, ...]]
JOB_NAMES = tuple(each.name for each in fields(JobFacts))
PULL_NAMES = tuple(each.name for each in fields(PullFacts))


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


def unread(file: str, state: str, trouble: str) -> Facts:
    """A file that gives no rows."""
    return facts_of(State(), Cover(file, 0, "", trouble, False, False, "", ""), state)


@dataclass(frozen=True, slots=True)
class Exact:
    """What is worked out over all pulls of a job, before it becomes a float."""

    worst: tuple[int, Fraction] | None
    """Number and margin of the pull furthest outside its band, or nearest to a limit."""
    length: Fraction | None
    """Mean stretch along the length, per cent."""
    cross: Fraction | None
    loss: FallBack | None
    """What hooking loses in this room."""


def facts_of(state: State, cover: Cover, kind: str = "") -> Facts:
    """The facts of a job folded to `state`; `kind` = its state where the cover does not say it."""
    pulls = pulls_of(state)
    worst = worst_of(pulls)
    margin = margin_of(worst) if worst is not None else None
    told = Exact(
        None if worst is None or margin is None else (worst.pull.number, margin),
        _average(pulls, Direction.LENGTH),
        _average(pulls, Direction.CROSS),
        state.loss,
    )
    return job_facts(state, cover, kind, [_pull(each) for each in pulls], told)


def job_facts(state: State, cover: Cover, kind: str, pulls: Sequence[PullFacts], exact: Exact) -> Facts:
    """The row of a job from those of its pulls; of the `state` only what is no pull is looked at."""
    counts = Counter(each.mark for each in pulls)
    judged = sum(counts[each.value] for each in (Verdict.SHORT, Verdict.IN_BAND, Verdict.OVER))
    bites = [each.bites for each in pulls if each.percent is not None]
    return JobFacts(
        file=cover.file,
        state=kind or _kind(state, cover),
        trouble=cover.trouble,
        job=state.job,
        practice=cover.practice,
        crew=cover.crew or NOT_RECORDED,
        person=cover.person or NOT_RECORDED,
        carpet=_carpet(state),
        begun=cover.begun,
        month=cover.begun[:7] or NOT_RECORDED,
        carried_from=cover.carried_from,
        rows=cover.rows,
        pull_count=len(pulls),
        short=counts[Verdict.SHORT.value],
        in_band=counts[Verdict.IN_BAND.value],
        over=counts[Verdict.OVER.value],
        unjudged=counts[Verdict.NONE.value],
        skipped=counts[SKIPPED],
        not_made=counts[NOT_MADE],
        mark=worst_mark(counts),
        share_in_band=counts[Verdict.IN_BAND.value] / judged if judged else None,
        worst_pull=exact.worst[0] if exact.worst is not None else None,
        worst_margin=exact_float(exact.worst[1] if exact.worst is not None else None),
        average_length=exact_float(exact.length),
        average_cross=exact_float(exact.cross),
        fall_back=float(exact.loss.expected.inches) if exact.loss is not None else None,
        bites=sum(bites) / len(bites) if bites else None,
    ), tuple(pulls)


def _kind(state: State, cover: Cover) -> str:
    if cover.newer:
        return NEWER
    if cover.trouble:
        return DAMAGED
    return WHOLE if state.finished else OPEN


def _carpet(state: State) -> str:
    if state.construction is None:
        return NOT_RECORDED
    figure = figure_for(state.construction, state.maker.get(Direction.LENGTH))
    return f"{state.construction.value.replace('_', ' ')}, {vouch(figure)}"


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
        fall_back=None if record.fall_back is None else float(percent(record.fall_back, pull.span)),
        bites=len(record.readings),
        skipped=record.skipped or None,
        notes=len(record.notes),
    )


def exact_float(value: Fraction | None) -> float | None:
    """For a table: the nearest float."""
    return None if value is None else float(value)
