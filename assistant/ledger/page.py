"""The ledger as plain text: aligned columns, no sign a terminal could take for a command."""

from collections.abc import Sequence
from math import ceil
from typing import Any

from assistant.exits import one_line
from assistant.ledger.answers import DIMENSIONS, Answers, Row
from assistant.ledger.wording import figure, reason

SHOWN_JOBS = 40
"""A folder of no more jobs is listed job by job."""
SHOWN_LOOKS = 20
SHOWN_ROWS = 25
"""Of one group."""
SHOWN_MONTHS = 8
_WIDEST = 44
_GROUP = ("jobs", "pulls", "in band", "short", "over", "skipped", "worst", "bites", "fall-back")
_JOB = ("job", "crew", "state", "pulls", "in band", "short", "over", "skipped", "worst", "bites")


def page(folder: str, answers: Answers, jobs: Sequence[Row]) -> str:
    """What the terminal shows; `jobs` are rows of the table of jobs to be listed one by one, if they are few."""
    parts = [_head(folder, answers)]
    if 0 < len(jobs) <= SHOWN_JOBS:
        parts.append(_table(("file", *_JOB), [(each["file"], *_job(each)) for each in jobs]))
    parts += [_group(each, answers.groups[each]) for each in DIMENSIONS if answers.groups[each]]
    months = _months(answers.trends["crew"])
    parts += [months] if months else []
    parts += [_worst(answers.worst)] if answers.worst else []
    parts.append(_looks(answers.second_look))
    return "\n\n".join(parts)


def _head(folder: str, answers: Answers) -> str:
    total = answers.totals
    left = total["files"] - total["unread"] - total["twice"] - total["counted"]
    told = [f"{total['files']:,} job files", f"{total['counted']:,} counted"]
    told += [f"{total['unread']:,} not read to their end, left out of all averages"] if total["unread"] else []
    told += [f"{total['twice']:,} copies or carried on in another file, counted once"] if total["twice"] else []
    told += [f"{left:,} of practice, left out (--practice counts them)"] if left else []
    told += [f"{total['not_closed']:,} not closed"] if total["not_closed"] else []
    return f"{one_line(folder)}: {'; '.join(told)}"


def _job(row: Row) -> tuple[str, ...]:
    state = f"{row['state']}, practice" if row["practice"] else row["state"]
    counts = (figure(row[each]) for each in ("short", "over", "skipped"))
    figures = (figure(row["pull_count"]), _share(row["share_in_band"]), *counts)
    return (row["job"] or "–", row["crew"], state, *figures, _points(row["worst_margin"]), _one(row["bites"]))


def _group(dimension: str, rows: Sequence[Row]) -> str:
    shown = [(each[dimension], *_figures(each)) for each in rows[:SHOWN_ROWS]]
    more = f"\n  and {len(rows) - SHOWN_ROWS:,} more: --json has them all" if len(rows) > SHOWN_ROWS else ""
    return _table((dimension, *_GROUP), shown) + more


def _figures(row: Row) -> tuple[str, ...]:
    counts = (figure(row[each]) for each in ("short", "over", "skipped"))
    loss = "–" if row["fall_back"] is None else f"{round(row['fall_back'], 2) + 0.0:.2f} %"
    share, worst, bites = _share(row["share_in_band"]), _points(row["worst_margin"]), _one(row["bites"])
    return (figure(row["jobs"]), figure(row["pulls"]), share, *counts, worst, bites, loss)


def _months(rows: Sequence[Row]) -> str:
    """Share in band of each crew, month by month; '' where there is but one month."""
    months = sorted({each["month"] for each in rows})[-SHOWN_MONTHS:]
    if len(months) < 2:
        return ""
    share = {(each["crew"], each["month"]): _share(each["share_in_band"]) for each in rows}
    crews = sorted({each["crew"] for each in rows})[:SHOWN_ROWS]
    return _table(("in band", *months), [(crew, *(share.get((crew, each), "–") for each in months)) for crew in crews])


def _worst(rows: Sequence[Row]) -> str:
    shown = [
        (each["file"], f"pull {each['number']}", each["direction"], each["mark"], _points(each["margin"]))
        for each in rows
    ]
    return _table(("worst pulls", "", "", "", "points"), shown)


def _looks(rows: Sequence[Row]) -> str:
    if not rows:
        return "second look: no job calls for one"
    count = len({each["file"] for each in rows})
    lines = [f"second look: {len(rows):,} reasons, {count:,} jobs"]
    lines += [f"  {_short(each['file'])}: {reason(each)}" for each in rows[:SHOWN_LOOKS]]
    lines += (
        [f"  and {len(rows) - SHOWN_LOOKS:,} more: --csv and --json have them all"] if len(rows) > SHOWN_LOOKS else []
    )
    return "\n".join(lines)


def _share(value: Any) -> str:
    return "–" if value is None else f"{min(100 * value, 100 if value == 1 else 99.9):.1f} %"


def _points(value: Any) -> str:
    if value is None:
        return "–"
    # Outside it is rounded up, so that it never reads as being at the limit; a float is a hair off its fraction.
    return f"{value:+.2f}" if value >= 0 else f"-{max(1, ceil(round(-100 * value, 6))) / 100:.2f}"


def _one(value: Any) -> str:
    return "–" if value is None else f"{value:.1f}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Texts to the left, everything else to the right of its column."""
    cells = [tuple(head), *(tuple(_short(each) for each in row) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    left = [not any(_is_figure(row[at]) for row in cells[1:]) for at in range(len(head))]
    return "\n".join(_line(row, widths, left) for row in cells)


def _is_figure(text: str) -> bool:
    return (text[:1].isdigit() and text[-1:] in "0123456789%" and "-" not in text) or text[:1] in "+-"


def _line(row: Sequence[str], widths: Sequence[int], left: Sequence[bool]) -> str:
    cells = zip(row, widths, left, strict=True)
    return "  ".join(each.ljust(width) if to_left else each.rjust(width) for each, width, to_left in cells).rstrip()


def _short(text: str) -> str:
    shown = one_line(text)
    return shown if len(shown) <= _WIDEST else f"{shown[: _WIDEST // 2]}...{shown[-_WIDEST // 2 + 3 :]}"
