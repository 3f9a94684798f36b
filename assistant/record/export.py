"""The job summary as plain values for programs."""

from dataclasses import asdict
from fractions import Fraction
from typing import Any

from assistant.core.caution import Caution
from assistant.core.length import Length, tape
from assistant.core.meaning import Quantity
from assistant.record.summary import DirectionSummary, JobSummary, PullSummary


def as_json(summary: JobSummary) -> dict[str, Any]:
    """Plain values; lengths as fractions of an inch with the tape's form beside them, per cent as fractions."""
    return {
        "job": summary.job,
        "practice": summary.practice,
        "finished": summary.finished,
        "code": summary.code,
        "rows": summary.rows,
        "rows_after_code": summary.rows_after_code,
        "damage": summary.damage or None,
        "sessions": [each.wall for each in summary.started],
        "end": summary.end or None,
        "programs": list(summary.programs),
        "models": list(summary.models),
        **_job(summary),
        "verdict": summary.mark,
        "counts": summary.counts,
        "share_in_band": _fraction(summary.share_in_band),
        "worst_pull": summary.worst.pull.number if summary.worst is not None else None,
        "fall_back_percent": _fraction(None if summary.lost is None else summary.lost.usual),
        "directions": [_direction(each, summary) for each in summary.directions],
        "pulls": [_pull(each, summary) for each in summary.pulls],
        **_course(summary),
    }


def _job(summary: JobSummary) -> dict[str, Any]:
    room = summary.room
    return {
        "construction": summary.construction.value if summary.construction is not None else None,
        "room": {
            "length": _length(room.length if room is not None else None, summary),
            "width": _length(room.width if room is not None else None, summary),
            "right": _length(room.right if room is not None else None, summary),
            "far": _length(room.far if room is not None else None, summary),
            "diagonal": _length(room.diagonal if room is not None else None, summary),
            "told": [{"what": what, "text": text} for what, text in summary.room_rows],
        },
        "system": summary.system.value,
        "corner": summary.corner.value if summary.corner is not None else None,
        "lay": summary.lay.value if summary.lay is not None else None,
        "order": summary.order or None,
        "crew": summary.crew or None,
        "person": summary.person or None,
        "conditions": {
            each.kind: {
                "noted": each.noted is not None,
                "quantity": _quantity(each.noted.quantity if each.noted is not None else None),
                "word": (each.noted.word if each.noted is not None else "") or None,
                "state": each.state,
                "caution": None if each.caution is None else _caution(each.caution),
            }
            for each in summary.conditions
        },
        "cautions": [_caution(each) for each in summary.cautions],
    }


def _course(summary: JobSummary) -> dict[str, Any]:
    return {
        "findings": [
            {"kind": each.kind, "text": each.text, "pulls": list(each.pulls), "row": each.seq}
            for each in summary.findings
        ],
        "timeline": [
            {"what": each.what, "begin": each.begin, "end": each.end, "seconds": each.seconds}
            for each in summary.timeline
        ],
        "clock_jumps": [{"row": each.seq, "seconds": each.seconds} for each in summary.clock_jumps],
        "hearing": {**asdict(summary.tally), "doubtful": summary.tally.doubtful},
        "heard": [
            {
                "row": each.row.seq,
                "wall": each.row.wall,
                "ask": each.said.ask if each.said is not None else None,
                "text": each.said.text if each.said is not None else None,
                "score": each.said.score if each.said is not None else None,
                "by": each.said.by if each.said is not None else None,
                "followed": each.followed,
            }
            for each in summary.heard
        ],
    }


def _direction(each: DirectionSummary, summary: JobSummary) -> dict[str, Any]:
    most = each.figure.most if each.figure is not None else None
    return {
        "direction": each.direction.value,
        "least_percent": _fraction(each.figure.least) if each.figure is not None else None,
        "most_percent": _fraction(most),
        "pattern_percent": _fraction(each.pattern) if each.pattern else None,
        "figure_from": each.vouch,
        "shortest_span": _length(each.spans[0] if each.spans else None, summary),
        "longest_span": _length(each.spans[1] if each.spans else None, summary),
        "verdict": each.mark,
        "counts": each.counts,
        "average_percent": _fraction(each.average),
        "fall_back_percent": _fraction(None if each.lost is None else each.lost.usual),
        "fall_back_most_percent": _fraction(None if each.lost is None else each.lost.at_most),
    }


def _pull(each: PullSummary, summary: JobSummary) -> dict[str, Any]:
    pull, record, band, outcome = each.pull, each.record, each.pull.band, each.outcome
    return {
        "number": pull.number,
        "pass": each.pass_number,
        "direction": pull.direction.value,
        "wall": pull.wall.value,
        "wall_number": pull.wall_number,
        "angle_degrees": str(pull.angle),
        "tail": pull.flag or "wall",
        "position": _length(pull.position, summary),
        "span": _length(pull.span, summary),
        "parts": pull.parts,
        "stretched": _length(pull.stretched, summary),
        "least": _length(band.tape_least if band is not None else None, summary),
        "most": _length(band.tape_most if band is not None else None, summary),
        "head": _length(record.head, summary),
        "readings": [
            {"moved": _length(r.moved, summary), "manner": r.manner, "fresh": r.fresh} for r in record.readings
        ],
        "hold": _length(record.hold.moved if record.hold is not None else None, summary),
        "hold_manner": record.hold.manner if record.hold is not None else None,
        "fall_back": _length(record.fall_back, summary),
        "outcome": None if outcome is None else _length(outcome.moved, summary, each.moved(summary.system)),
        "outcome_by": None if outcome is None else ("measured" if outcome.measured else "estimated"),
        "percent": _fraction(each.percent),
        "verdict": each.mark,
        "skipped": record.skipped or None,
        "notes": list(record.notes),
        "history": [
            {"row": each.row.seq, "wall": each.row.wall, "heard": each.heard or None, "told": each.told}
            for each in summary.histories.get(pull.number, ())
        ],
    }


def _length(length: Length | None, summary: JobSummary, shown: Length | None = None) -> dict[str, str] | None:
    if length is None:
        return None
    return {"inches": str(length.inches), "tape": tape(length if shown is None else shown, summary.system)}


def _fraction(value: Fraction | None) -> str | None:
    return None if value is None else str(value)


def _quantity(value: Quantity | None) -> dict[str, str] | None:
    return None if value is None else {"value": str(value.value), "unit": value.unit}


def _caution(each: Caution) -> dict[str, str]:
    return {"about": each.about, "text": each.text, "source": each.source}
