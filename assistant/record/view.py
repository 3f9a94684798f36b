"""A job summary in words and drawings, as the report's templates take it."""

from fractions import Fraction
from typing import Any

from assistant.core.conditions import name_of
from assistant.core.length import Length, tape
from assistant.core.record import Reading
from assistant.record import marks
from assistant.record.cautions import safety_cautions
from assistant.record.chart import CHART_WIDTH, chart_scale, draw_chart
from assistant.record.course import evenness, hearing, hooking, total_time
from assistant.record.drawing import draw_plan
from assistant.record.figures import (
    clock_jump,
    clock_time,
    day_and_time,
    duration,
    number,
    percent_text,
    tape_or_dash,
    words,
)
from assistant.record.glance import VOUCH, tiles
from assistant.record.limits import LIMITS
from assistant.record.summary import ConditionSummary, DirectionSummary, JobSummary, PullSummary
from assistant.record.telling import asked, placing, wall_name
from assistant.record.time_strip import IDLE, time_strip
from assistant.record.time_strip import WIDTH as STRIP_WIDTH
from assistant.record.vouched import vouched

CORRECTIONS = ("refused", "misheard", "scratched", "rejected", "reopened", "slipped")
"""Findings shown under 'corrections'; the others are exceptions of the work itself."""


def view(summary: JobSummary) -> dict[str, Any]:
    """Everything the template names."""
    full = chart_scale(summary.pulls)
    exceptions = [each for each in summary.findings if each.kind not in CORRECTIONS]
    return {
        "job": summary,
        "title": ("PRACTICE: " if summary.practice else "")
        + (f"Job {summary.job}" if summary.job else "Job without a number"),
        "headline": marks.headline(summary),
        "code_words": " ".join(each for each in summary.code.split() if not each.isdigit()),
        "code_digits": " ".join(each for each in summary.code.split() if each.isdigit()),
        "when": _when(summary),
        "tiles": tiles(summary),
        "worked": _worked(summary),
        "plan": draw_plan(summary.plan, _marks(summary)) if summary.plan is not None else None,
        "room": _room(summary),
        "evenness": evenness(summary),
        "hooking": hooking(summary),
        "directions": [_direction(each, summary) for each in summary.directions],
        "pulls": [_pull(each, summary, full) for each in summary.pulls],
        "chart_width": CHART_WIDTH,
        "full": number(Fraction(full), 1),
        "exceptions": exceptions,
        "corrections": [each for each in summary.findings if each.kind in CORRECTIONS],
        "conditions": [_condition(each) for each in summary.conditions],
        "vouched": vouched(summary),
        "stretches": [_stretch(each.what, each.begin, each.seconds, summary) for each in summary.timeline],
        "strip": time_strip(summary.timeline),
        "strip_width": STRIP_WIDTH,
        "total_time": total_time(summary.timeline),
        "jumps": list(map(clock_jump, summary.clock_jumps)),
        "hearing": hearing(summary.tally),
        "heard": [(clock_time(each.row.wall), each) for each in summary.heard],
        "safety": safety_cautions(),
        "words": words,
        "marks": marks,
        "legend": [each for each in marks.ALL if summary.counts.get(each.key)],
    }


def _marks(summary: JobSummary) -> dict[int, str]:
    return {each.pull.number: each.mark for each in summary.pulls}


def _tape(length: Length | None, summary: JobSummary) -> str:
    return tape_or_dash(length, summary.system)


def _when(summary: JobSummary) -> str:
    if not summary.started:
        return "no session recorded"
    sessions = len(summary.started)
    ends = day_and_time(summary.end)
    return f"{day_and_time(summary.started[0].wall)} to {ends}, {sessions} session{'s' if sessions > 1 else ''}"


def _worked(summary: JobSummary) -> str:
    """'crew North, Ann'; '' where the settings named nobody."""
    return ", ".join(filter(None, (f"crew {summary.crew}" if summary.crew else "", summary.person)))


def _room(summary: JobSummary) -> str:
    room = summary.room
    return f"{_tape(room.length, summary)} × {_tape(room.width, summary)}" if room is not None else "not recorded"


def _direction(each: DirectionSummary, summary: JobSummary) -> dict[str, str]:
    counts = ", ".join(f"{count} {mark}" for mark, count in each.counts.items())
    return {
        "name": each.direction.value,
        "mark": each.mark,
        "span": " to ".join(dict.fromkeys(_tape(span, summary) for span in each.spans or (None,))),
        "figure": asked(each.figure, each.pattern),
        "vouch": VOUCH[each.vouch],
        "average": percent_text(each.average),
        "counts": counts or "no pulls",
    }


def _pull(each: PullSummary, summary: JobSummary, full: float) -> dict[str, Any]:
    pull, record, band = each.pull, each.record, each.pull.band
    outlined = summary.room is not None and summary.room.outline is not None
    return {
        "number": pull.number,
        "pass": each.pass_number,
        "direction": pull.direction.value,
        "wall": str(pull.wall_number) if outlined else pull.wall.value,
        "wall_name": wall_name(pull, outlined=outlined),
        "position": _tape(pull.called_position, summary),
        "band": "no figure" if band is None else _band(each, summary),
        "head": _tape(record.head, summary),
        "readings": ", ".join(_read(each, summary) for each in record.readings) or "–",
        "hold": "–" if record.hold is None else _read(record.hold, summary),
        "fall_back": _tape(record.fall_back, summary),
        "outcome": _tape(each.moved(summary.system), summary),
        "percent": percent_text(each.share),
        "how": "" if each.outcome is None else ("estimated" if each.estimated else "measured"),
        "mark": each.mark,
        "remark": "; ".join(
            filter(None, (*placing(pull, summary.system), words(record.skipped), *map(words, record.notes)))
        ),
        "chart": draw_chart(each, full),
        "history": [
            (clock_time(moment.row.wall), moment.heard, moment.told)
            for moment in summary.histories.get(pull.number, ())
        ],
    }


def _read(reading: Reading, summary: JobSummary) -> str:
    """As said: '1 5/8 in strong'."""
    return f"{tape(reading.moved, summary.system)} {reading.manner}".rstrip()


def _band(each: PullSummary, summary: JobSummary) -> str:
    band = each.pull.band
    if band is None or band.tape_most is None:
        return f"at least {_tape(band.tape_least if band is not None else None, summary)}"
    return f"{_tape(band.tape_least, summary)} to {_tape(band.tape_most, summary)}"


def _condition(each: ConditionSummary) -> dict[str, str]:
    limit = LIMITS[each.kind]
    return {
        "kind": name_of(each.kind),
        "value": each.shown,
        "limit": limit.text,
        "state": each.state,
        "source": limit.source,
    }


def _stretch(what: str, begin: str, seconds: float | None, summary: JobSummary) -> dict[str, Any]:
    known = [each.seconds for each in summary.timeline if each.seconds is not None and each.seconds > 0]
    share = (seconds or 0.0) / max(known, default=1.0)
    return {
        "what": what,
        "begin": clock_time(begin),
        "duration": duration(seconds),
        "share": round(max(0.0, share) * 100, 1),
        "idle": what in IDLE,
    }
