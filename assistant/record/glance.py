"""The top of the report: what a supervisor reads in twenty seconds."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor

from assistant.core.conditions import name_of
from assistant.record import marks
from assistant.record.figures import over, percent_text, words
from assistant.record.marks import Mark
from assistant.record.summary import NOT_MADE, SKIPPED, DirectionSummary, JobSummary, margin_of
from assistant.record.telling import asked, wall_name

VOUCH = {"maker": "the carpet maker", "default": "default, no maker's figure given", "none": "nobody"}
"""Who vouches for a figure."""
_NAMED = 3
"""So many pulls are named in a tile; of more, the others are counted."""


@dataclass(frozen=True)
class Tile:
    """One thing to know."""

    name: str
    figure: str
    remark: str
    mark: Mark | None = None
    """A verdict, shown as word, shape and colour."""


def tiles(summary: JobSummary) -> tuple[Tile, ...]:
    """Verdict of each direction, share in band after hooking, worst pull, what was left out, conditions."""
    return tuple(_tiles(summary))


def _tiles(summary: JobSummary) -> Iterator[Tile]:
    for each in summary.directions:
        yield _direction(each)
    yield _share(summary)
    worst = summary.worst
    if worst is not None:
        outlined = summary.room is not None and summary.room.outline is not None
        how = "estimated" if worst.estimated else "measured"
        where = f"to {wall_name(worst.pull, outlined=outlined)}"
        remark = f"{worst.mark}{_by(summary)}, {how}; {where}"
        yield Tile(f"Worst: pull {worst.pull.number}", percent_text(worst.share), remark)
    yield _left_out(summary)
    yield _conditions(summary)


def _direction(each: DirectionSummary) -> Tile:
    remark = f"average {percent_text(each.average)}, asked {asked(each.figure, each.pattern)} ({VOUCH[each.vouch]})"
    return Tile(each.direction.value.capitalize(), each.mark, remark, marks.of(each.mark))


def _share(summary: JobSummary) -> Tile:
    made = [each for each in summary.pulls if each.outcome is not None]
    share = summary.share_in_band
    if share is None:
        return Tile("Pulls made", f"{len(made)} of {len(summary.pulls)}", "no verdict")
    judged = [each for each in made if margin_of(each) is not None]
    measured = sum(not each.estimated for each in judged)
    figure = f"{summary.counts.get('in band', 0)} of {len(judged)}"
    told = f"{measured} measured, {len(judged) - measured} estimated"
    return Tile("In band after hooking", figure, f"{floor(share * 100)} %; {told}")


def _by(summary: JobSummary) -> str:
    """How far outside its band the worst pull is."""
    margin = margin_of(summary.worst) if summary.worst is not None else None
    return f" by {over(-margin)} points" if margin is not None and margin < 0 else ""


def _left_out(summary: JobSummary) -> Tile:
    skipped = [each for each in summary.pulls if each.mark == SKIPPED]
    missing = summary.counts.get(NOT_MADE, 0)
    told = [f"pull {each.pull.number}: {words(each.record.skipped)}" for each in skipped[:_NAMED]]
    more = [f"{len(skipped) - _NAMED} more"] if len(skipped) > _NAMED else []
    never = [f"{missing} never finished"] if missing else []
    made = "there is no plan yet" if summary.plan is None else "every pull of the plan was made"
    count = len(skipped)
    figure = f"{count} pull{'s' if count > 1 else ''}" if count else "none"
    return Tile("Left out", figure, "; ".join((*told, *more, *never)) or made)


def _conditions(summary: JobSummary) -> Tile:
    outside = [name_of(each.kind) for each in summary.conditions if each.state == "outside"]
    blank = [name_of(each.kind) for each in summary.conditions if each.state in ("not recorded", "not asked")]
    within = sum(each.state == "within" for each in summary.conditions)
    figure = f"{len(outside)} outside" if outside else ("within limits" if within else "not recorded")
    told = [*([", ".join(outside)] if outside else []), *([f"{len(blank)} not recorded"] if blank and within else [])]
    return Tile("Conditions", figure, "; ".join(told) or (f"{within} checked" if within else "none was told"))
