"""Verdicts for the eye: a word, a shape and a colour each; none is told by colour alone."""

from dataclasses import dataclass

from assistant.core.band import Verdict
from assistant.core.order import Direction
from assistant.record.summary import NOT_MADE, SKIPPED, JobSummary


@dataclass(frozen=True)
class Mark:
    """How one verdict is shown."""

    key: str
    """As in PullSummary.mark; also its word."""
    name: str
    """CSS class and id of the shape in the templates."""
    shape: str
    """The shape in words, for the legend and for readers who do not see it."""


ALL = (
    Mark(Verdict.IN_BAND.value, "in-band", "disc with a tick"),
    Mark(Verdict.SHORT.value, "short", "triangle pointing down"),
    Mark(Verdict.OVER.value, "over", "diamond"),
    Mark(Verdict.NONE.value, "no-verdict", "ring"),
    Mark(SKIPPED, "skipped", "square with a cross"),
    Mark(NOT_MADE, "not-made", "dashed ring"),
)


def of(key: str) -> Mark:
    """The mark of a verdict's word."""
    return next(each for each in ALL if each.key == key)


def headline(summary: JobSummary) -> str:
    """The job's verdict in one sentence."""
    counts = summary.counts
    left_out = f" {_pulls(counts[SKIPPED])} left out." if counts.get(SKIPPED) else ""
    return _verdict(summary) + _unjudged(summary) + left_out + _ended(summary)


def _ended(summary: JobSummary) -> str:
    if summary.finished:
        return ""
    return " Whether the job was closed cannot be read." if summary.damage else " The job was not closed."


def _verdict(summary: JobSummary) -> str:
    counts = summary.counts
    over = counts.get(Verdict.OVER.value, 0)
    if summary.plan is None:
        return "No pull was made: there is no plan yet."
    match summary.mark:
        case Verdict.SHORT.value:
            more = f", {over} over" if over else ""
            return f"{_pulls(counts[Verdict.SHORT.value])} short of the least{more}."
        case "not made":
            return f"Not finished: {_pulls(counts[NOT_MADE])} never finished."
        case Verdict.OVER.value:
            judged = "pull with a verdict" if counts.get(Verdict.NONE.value) else "pull"
            return f"No {judged} is short; {_pulls(over)} over the most."
        case Verdict.NONE.value if len(_no_figure(summary)) == len(Direction):
            return "No verdict: the maker gives no figure for this carpet."
        case Verdict.NONE.value:
            made = summary.share_in_band is not None
            return "Every pull with a verdict is in band." if made else "No pull has a verdict."
        case Verdict.IN_BAND.value:
            return "Every pull made is in band."
    return "Every pull was left out."


def _unjudged(summary: JobSummary) -> str:
    """The pulls of the one direction that nobody gave a figure for."""
    count, missing = summary.counts.get(Verdict.NONE.value, 0), _no_figure(summary)
    return f" No verdict on {_pulls(count)}: no {missing[0]} figure." if count and len(missing) == 1 else ""


def _no_figure(summary: JobSummary) -> list[str]:
    return [each.direction.value for each in summary.directions if each.figure is None]


def _pulls(number: int) -> str:
    return f"{number} pull" if number == 1 else f"{number} pulls"
