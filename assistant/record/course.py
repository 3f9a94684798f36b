"""What the report draws and counts beside the verdicts: evenness, what hooking lost, bites, time, hearing."""

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from statistics import median
from typing import Any

from assistant.core import trade
from assistant.core.length import Length, System, tape
from assistant.core.neighbours import Neighbours, in_line, neighbours
from assistant.record.figures import duration, number, over, percent_text, tape_or_dash
from assistant.record.pull_charts import bar_charts, stretch_charts
from assistant.record.summary import DirectionSummary, JobSummary, PullSummary
from assistant.record.tally import Tally
from assistant.record.time_strip import IDLE
from assistant.record.timeline import Stretch


def evenness(summary: JobSummary) -> dict[str, Any]:
    """For each direction its chart and its neighbours furthest apart."""
    setting = trade.NEIGHBOUR_JUMP
    return {
        "most": number(setting.value),
        "vouch": setting.vouch.value,
        "directions": [_even(each, summary) for each in summary.directions if each.counts],
    }


def _even(each: DirectionSummary, summary: JobSummary) -> dict[str, Any]:
    own = {pull.pull.number: pull for pull in summary.pulls if pull.pull.direction is each.direction}
    line = [own[pull.number] for pull in in_line((pull.pull for pull in own.values()), each.direction)]
    pairs = neighbours([(pull.pull, pull.outcome) for pull in line])
    return {
        "name": each.direction.value,
        "charts": stretch_charts(line, pairs, each.figure),
        "told": ", ".join(f"pull {pull.pull.number} {pull.mark} {percent_text(pull.share)}" for pull in line),
        "widest": _apart(max(pairs, key=lambda pair: pair.points, default=None)),
        "uneven": sum(pair.uneven for pair in pairs),
        "pairs": len(pairs),
    }


def _apart(pair: Neighbours | None) -> str:
    if pair is None:
        return "no two neighbours were made"
    points = over(pair.points) if pair.uneven else number(pair.points)
    return f"{points} points, between pulls {pair.first.number} and {pair.second.number}"


def hooking(summary: JobSummary) -> dict[str, Any]:
    """What hooking lost, and how many bites it took: by pass, and pull by pull as columns."""
    system = summary.system
    return {
        "unit": "in" if system is System.IMPERIAL else "mm",
        "passes": [_pass(each, summary) for each in dict.fromkeys(pull.pass_number for pull in summary.pulls)],
        "lost": bar_charts(summary.pulls, _lost(system), lambda each: tape_or_dash(each.record.fall_back, system), 0.1),
        "bites": bar_charts(summary.pulls, _bites, lambda each: str(len(each.record.readings)), 1),
        "usual": [
            f"{each.direction.value} {percent_text(each.lost.usual)}, at most {percent_text(each.lost.at_most)}"
            for each in summary.directions
            if each.lost is not None
        ],
        "measured": sum(each.record.fall_back is not None for each in summary.pulls),
    }


def _lost(system: System) -> Callable[[PullSummary], float | None]:
    def value(each: PullSummary) -> float | None:
        lost = each.record.fall_back
        return None if lost is None else max(0.0, float(lost.inches if system is System.IMPERIAL else lost.mm))

    return value


def _bites(each: PullSummary) -> float | None:
    return float(len(each.record.readings)) or None


def _pass(which: int, summary: JobSummary) -> dict[str, str]:
    pulls = [each for each in summary.pulls if each.pass_number == which]
    made = [each for each in pulls if each.outcome is not None]
    lost = [each.record.fall_back for each in pulls if each.record.fall_back is not None]
    return {
        "name": f"pass {which}, {pulls[0].pull.direction.value}",
        "made": f"{len(made)} of {len(pulls)}",
        "average": percent_text(_mean([each.percent for each in made if each.percent is not None])),
        "lost": _range(lost, summary.system),
        "measured": str(len(lost)),
        **_bites_of(made),
    }


def _bites_of(made: Sequence[PullSummary]) -> dict[str, str]:
    counts = [len(each.record.readings) for each in made]
    most = max(made, key=lambda each: len(each.record.readings), default=None)
    slips = sum(reading.fresh for each in made for reading in each.record.readings)
    return {
        "bites": number(Fraction(sum(counts), len(counts)), 1) if counts else "–",
        "most": "–" if most is None else f"{len(most.record.readings)}, pull {most.pull.number}",
        "begun_anew": str(slips),
    }


def _range(lost: Iterable[Length], system: System) -> str:
    """'1/8 in (1/16 in to 3/16 in)': the median, the least and the most."""
    found = sorted(lost)
    if not found:
        return "not measured"
    middle = Length(median([each.inches for each in found]))
    ends = "" if found[0] == found[-1] else f" ({tape(found[0], system)} to {tape(found[-1], system)})"
    return f"{tape(middle, system)}{ends}"


def _mean(values: Sequence[Fraction]) -> Fraction | None:
    return sum(values, Fraction(0)) / len(values) if values else None


def hearing(found: Tally) -> dict[str, Any]:
    """How often the recogniser was wrong, in words."""
    rows = (
        ("not understood", found.not_understood, "no answer to what was asked: asked again"),
        ("offered", found.offered, "may have been one of several sentences: asked which"),
        ("turned down", found.turned_down, "read back, and answered with no"),
        ("taken back", found.taken_back, "scratched: misheard, or the installer's own slip"),
        ("refused", found.refused, "no figure that could be: misheard, or said so"),
    )
    share = "–" if found.share is None else f"{number(found.share * 100, 1)} %"
    return {"rows": rows, "share": share, "tally": found}


def total_time(stretches: Sequence[Stretch]) -> str:
    """'1 h 52 min, 16 min of it paused; 1 h 00 min more between sessions'."""
    by: dict[str, float] = {}
    for each in stretches:
        kind = each.what if each.what in IDLE else "work"
        by[kind] = by.get(kind, 0.0) + (each.seconds or 0.0)
    paused = f", {duration(by['pause'])} of it paused" if by.get("pause") else ""
    return f"{duration(by.get('work', 0.0) + by.get('pause', 0.0))}{paused}{_stopped(stretches)}"


def _stopped(stretches: Sequence[Stretch]) -> str:
    """Over a stop the clock may have been set back: how long that was nobody knows."""
    found = [each.seconds for each in stretches if each.what == "stopped"]
    known = sum(each for each in found if each is not None)
    if not known:
        return "; unknown time more between sessions" if None in found else ""
    return f"; {'at least ' if None in found else ''}{duration(known)} more between sessions"
