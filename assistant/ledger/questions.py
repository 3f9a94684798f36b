"""What is asked of the two tables: one set of Ibis expressions for every engine that Ibis knows.

Each function takes Ibis tables laid out as `tables.jobs_of` and `tables.pulls_of` and returns an expression; only
`ask` runs them. Only what common engines share is used: sums, means, medians, joins, unions.
"""

from typing import Any

import ibis

from assistant.core.band import Verdict
from assistant.ledger.answers import DIMENSIONS, FOLLOWED, WORST, Answers, answers_of
from assistant.ledger.facts import CARRIED, COPY, OPEN, WHOLE

Expression = Any
"""An Ibis table; its own types are too loose to be of help."""

TWICE = (COPY, CARRIED)
"""Sound files whose job is counted by another."""
MEASURES = ("share_in_band", "bites", "fall_back", "average_length", "average_cross")
"""Figures of a job that are looked through for outliers."""

Z_FACTOR = 0.6745
"""Makes a median absolute deviation comparable with a standard deviation of normal values (its third quartile)."""
Z_MOST = 3.5
"""|0.6745 (x - median) / MAD| over this is an outlier: Iglewicz, Hoaglin, How to Detect and Handle Outliers, 1993."""
LEAST_JOBS = 10
"""Among fewer no job is called unusual: a median of a handful says little. A design choice."""
MANY = 0.2
"""Share of pulls left out or over from which a job is worth a second look. A design choice."""


def all_of(jobs: Expression, counted_jobs: Expression, pulls: Expression, worst: int) -> dict[str, Expression]:
    """Every question but the totals, by name, of the jobs, those counted, and the pulls; so many of the worst pulls."""
    return {
        **{f"by {each}": by(each, counted_jobs, pulls) for each in DIMENSIONS},
        **{f"trend by {each}": trend(each, counted_jobs, pulls) for each in FOLLOWED},
        "second look": second_look(jobs, counted_jobs),
        "worst pulls": worst_pulls(counted_jobs, pulls, worst),
    }


def counted(jobs: Expression, *, practice: bool) -> Expression:
    """The jobs that averages rest on: read to their end, and no practice unless that is asked for."""
    whole = jobs.filter(jobs.state.isin([WHOLE, OPEN]))
    return whole if practice else whole.filter(~whole.practice)


def totals(jobs: Expression, *, practice: bool) -> Expression:
    """One row: files, those counted, of practice, standing there twice, not read to their end, not closed."""
    read = jobs.state.isin([WHOLE, OPEN])
    return jobs.aggregate(
        files=jobs.count(),
        counted=_number(read if practice else read & ~jobs.practice),
        practice=_number(read & jobs.practice),
        twice=_number(jobs.state.isin(TWICE)),
        unread=_number(~jobs.state.isin([WHOLE, OPEN, *TWICE])),
        not_closed=_number(jobs.state == OPEN),
    )


def by(dimension: str, jobs: Expression, pulls: Expression) -> Expression:
    """One row for each value of `dimension`, of jobs that are all counted."""
    return _grouped([dimension], jobs, pulls)


def trend(dimension: str, jobs: Expression, pulls: Expression) -> Expression:
    """Likewise, month by month."""
    return _grouped([dimension, "month"], jobs, pulls)


def _grouped(keys: list[str], jobs: Expression, pulls: Expression) -> Expression:
    # A job that was left before it had a plan is one of its crew's, too, though it has no pulls.
    one = jobs.select("file", *keys).left_join(pulls, "file")
    judged = one.mark.isin([Verdict.SHORT.value, Verdict.IN_BAND.value, Verdict.OVER.value])
    found = one.group_by(keys).aggregate(
        jobs=one.file.nunique().cast("int64"),
        pulls=_number(one.number.notnull()),
        judged=_number(judged),
        in_band=_number(one.mark == Verdict.IN_BAND.value),
        short=_number(one.mark == Verdict.SHORT.value),
        over=_number(one.mark == Verdict.OVER.value),
        skipped=_number(one.skipped.notnull()),
        worst_margin=ibis.coalesce(one.margin.min(where=one.mark == Verdict.SHORT.value), one.margin.min()),
        bites=one.bites.cast("float64").mean(where=one.percent.notnull()),
        fall_back=one.fall_back.mean(),
    )
    share = found.in_band.cast("float64") / found.judged.cast("float64").nullif(0.0)
    return found.mutate(share_in_band=share).order_by(keys)


def _number(condition: Any) -> Any:
    # PostgreSQL casts no truth value to a long number, and sums long numbers up to decimals.
    return condition.ifelse(1, 0).sum().cast("int64")


def outliers(jobs: Expression) -> Expression:
    """One row for each figure of a counted job that stands out: file, measure, value, usual."""
    known = ibis.union(*(_figures(jobs, each) for each in MEASURES), distinct=False)
    middle = known.group_by("measure").aggregate(usual=known.value.median(), many=known.count())
    off = known.inner_join(middle, "measure")
    off = off.mutate(distance=(off.value - off.usual).abs())
    spread = off.group_by("measure").aggregate(mad=off.distance.median())
    found = off.inner_join(spread, "measure")
    # Where half the jobs have one and the same figure, the rule has no yardstick and calls nothing.
    found = found.filter((found.mad > 0) & (found.many >= LEAST_JOBS))
    return found.filter(Z_FACTOR * found.distance / found.mad > Z_MOST).select("file", "measure", "value", "usual")


def _figures(jobs: Expression, measure: str) -> Expression:
    return jobs.filter(jobs[measure].notnull()).select("file", measure=ibis.literal(measure), value=jobs[measure])


def second_look(jobs: Expression, counted_jobs: Expression) -> Expression:
    """One row for each reason to look at a job again, the gravest first: rank, file, reason, value, usual, text."""
    unread = jobs.filter(~jobs.state.isin([WHOLE, OPEN, *TWICE]))
    some = counted_jobs
    judged = some.short + some.in_band + some.over
    found = (
        _reason(1, "unread", unread, unread.rows, unread.trouble),
        _reason(2, "short", some.filter(some.short > 0), some.short),
        _reason(3, "not_made", some.filter((some.not_made > 0) & (some.state == WHOLE)), some.not_made),
        _reason(4, "over", some.filter(_many(some.over, judged)), some.over),
        _reason(5, "skipped", some.filter(_many(some.skipped, some.pull_count)), some.skipped),
        _unusual(outliers(some)),
    )
    return ibis.union(*found, distinct=False).order_by(["rank", ibis.desc("value"), "file", "reason"])


def _many(part: Any, whole: Any) -> Any:
    return (part > 0) & (part.cast("float64") >= whole.cast("float64") * MANY)


def _reason(rank: int, reason: str, jobs: Expression, value: Any, text: Any = None) -> Expression:
    return jobs.select(
        rank=ibis.literal(rank, "int64"),
        file=jobs.file,
        reason=ibis.literal(reason),
        value=jobs[value.get_name()].cast("float64"),
        usual=ibis.literal(None, "float64"),
        text=ibis.literal("") if text is None else text,
    )


def _unusual(found: Expression) -> Expression:
    return found.select(
        rank=ibis.literal(6, "int64"),
        file=found.file,
        reason=found.measure,
        value=found.value,
        usual=found.usual,
        text=ibis.literal(""),
    )


def worst_pulls(jobs: Expression, pulls: Expression, most: int) -> Expression:
    """The pulls furthest short, then furthest over, at most so many: file, number, direction, mark, margin, percent."""
    one = pulls.inner_join(jobs.select("file"), "file")
    outside = one.filter(one.margin < 0)
    columns = ("file", "number", "direction", "mark", "margin", "percent")
    short_first = (outside.mark == Verdict.SHORT.value).ifelse(0, 1)
    return outside.order_by([short_first, "margin", "file", "number"]).select(*columns).limit(most)


def flat(nested: Expression) -> tuple[Expression, Expression]:
    """The tables of jobs and of pulls from one of `--parquet`'s files, in engines that know lists (not PostgreSQL)."""
    pulls = nested.select("file", pull=nested.pulls.unnest()).unpack("pull")
    return nested.drop("digest", "pulls"), pulls


def ask(engine: Any, jobs: Expression, pulls: Expression, *, practice: bool) -> Answers:
    """All answers about tables that are in `engine`, an Ibis connection."""
    asked = {"totals": totals(jobs, practice=practice), **all_of(jobs, counted(jobs, practice=practice), pulls, WORST)}
    return answers_of({name: engine.to_pyarrow(each).to_pylist() for name, each in asked.items()})
