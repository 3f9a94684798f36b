"""`pullcall review`: what a job file shows, as a terminal summary and as a report beside it."""

from dataclasses import dataclass
from pathlib import Path

from assistant.core.conditions import name_of
from assistant.core.length import tape
from assistant.exits import Exit, Refusal
from assistant.record import marks
from assistant.record.code import Match, check_code, read_code
from assistant.record.figures import number
from assistant.record.reading import Reading, read_job
from assistant.record.summary import JobSummary, summarise
from assistant.record.telling import asked

SUFFIX = ".job"
"""Job files of a folder are known by it."""


@dataclass(frozen=True)
class Review:
    """What reviewing brought."""

    text: str
    """For the terminal."""
    code: Exit
    """DONE, or FINDINGS where the file is damaged, newer, or does not fit the code given."""
    files: tuple[Path, ...]
    """Written reports."""


def review(path: Path, out: Path | None = None, typed_code: str | None = None, *, sheet: bool = False) -> Review:
    """Review one job file, or every job file of a folder; reports go next to the job or into `out`.

    `typed_code` is a job code kept elsewhere; `sheet` adds the inspection sheet. Raises Refusal: BAD_JOB for a missing
    or foreign file or an empty folder, JOB_BUSY while a session holds it, NOT_WRITABLE, USAGE for a mistyped code.
    """
    if typed_code is not None:
        read_code(typed_code)
    if out is not None:
        _make(out)
    if not path.is_dir():
        return _one(path, out, typed_code, sheet)
    jobs = sorted(each for each in path.iterdir() if each.suffix == SUFFIX)
    if not jobs:
        raise Refusal(Exit.BAD_JOB, f"{path}: no job file in this folder; they end in {SUFFIX}")
    return _joined([_or_line(each, out, typed_code, sheet) for each in jobs])


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"{folder}: cannot be made ({error.strerror}); name another folder") from None


def _or_line(path: Path, out: Path | None, typed_code: str | None, sheet: bool) -> Review:
    """In a folder, one bad file does not keep the others from being reviewed."""
    try:
        return _one(path, out, typed_code, sheet)
    except Refusal as error:
        return Review(error.line, Exit.FINDINGS, ())


def _joined(found: list[Review]) -> Review:
    worst = Exit.FINDINGS if any(each.code is not Exit.DONE for each in found) else Exit.DONE
    return Review("\n\n".join(each.text for each in found), worst, tuple(file for each in found for file in each.files))


def _one(path: Path, out: Path | None, typed_code: str | None, sheet: bool) -> Review:
    reading = read_job(path)
    if reading.blank:
        checked, _ = _checked(reading, typed_code)
        return Review("\n".join([f"{path}: an empty job file; nothing was recorded", *checked]), Exit.FINDINGS, ())
    try:
        summary, files = _written(reading, out or path.parent, sheet)
    except OverflowError:
        line = f"{path}: holds figures beyond any tape; 'verify' still checks its rows"
        raise Refusal(Exit.BAD_JOB, line) from None
    checked, fits = _checked(reading, typed_code)
    lines = [*_lines(path, summary), *checked, *(f"written    {each}" for each in files)]
    return Review("\n".join(lines), Exit.DONE if fits and not summary.damage else Exit.FINDINGS, files)


def _written(reading: Reading, folder: Path, sheet: bool) -> tuple[JobSummary, tuple[Path, ...]]:
    from assistant.record.report import write_csv, write_json, write_report, write_sheet  # not before: 3 MB

    summary = summarise(reading.rows, damage_of(reading))
    # Put together in one step: a stem such as '.' would climb out of the folder.
    base = f"{folder}/{reading.path.stem}"
    return summary, (
        write_report(summary, Path(f"{base}.html")),
        write_csv(summary, Path(f"{base}.csv")),
        write_json(summary, Path(f"{base}.json")),
        *([write_sheet(summary, Path(f"{base}-sheet.html"))] if sheet else []),
    )


def damage_of(reading: Reading) -> str:
    """What kept a file from being read to its end, or what is not shown of it; '' = nothing."""
    if not reading.newer:
        return reading.damage
    newer = f"written by a newer pullcall (format {reading.version})"
    return f"{newer}: {reading.damage}" if reading.damage else f"{newer}: what it added is not shown"


def _checked(reading: Reading, typed_code: str | None) -> tuple[list[str], bool]:
    if typed_code is None:
        return [], True
    if reading.damage:
        return ["code       cannot be checked: the file is damaged"], False
    check = check_code(typed_code, reading.rows)
    return [f"code       {check.match.value}"], check.match is not Match.DIFFERS


def _lines(path: Path, summary: JobSummary) -> list[str]:
    counts = ", ".join(f"{count} {mark}" for mark, count in summary.counts.items())
    lines = [f"{path}: job {summary.job or 'without a number'}, {summary.rows} rows"]
    if summary.practice:
        lines.append("PRACTICE   on a simulated carpet; nothing here was done to a real one")
    if summary.damage:
        lines.append(f"DAMAGE     {summary.damage}; what follows rests on {summary.understood} rows")
    if summary.crew or summary.person:
        lines.append(f"crew       {summary.crew or '–'}, person {summary.person or '–'}")
    lines.append(f"verdict    {marks.headline(summary)}")
    if summary.room is not None:
        room = summary.room
        lines.append(f"room       {tape(room.length, summary.system)} by {tape(room.width, summary.system)}")
        lines += [f"           {what}: {text}" for what, text in summary.room_rows]
    for each in summary.directions:
        average = "no pulls" if each.average is None else f"average {number(each.average)} %"
        wanted = asked(each.figure, each.pattern)
        lines.append(f"{each.direction.value:10} {each.mark}; asked {wanted} ({each.vouch}); {average}")
    lines.append(f"pulls      {counts or 'none'}")
    noted = (f"{name_of(each.kind)} {each.shown}" for each in summary.conditions if each.noted is not None)
    lines.append(f"conditions {', '.join(noted) or 'none recorded'}")
    if summary.tally.spoken:
        doubtful = f"at most {summary.tally.doubtful} of {summary.tally.spoken} utterances misheard or taken back"
        lines.append(f"hearing    {doubtful}")
    lines += [f"caution    {each.text} ({each.source})" for each in summary.cautions]
    lines += [f"exception  {_where(each.pulls)}{each.kind}: {each.text}" for each in summary.findings]
    lines.append(f"job code   {summary.code}{_CODE_IS[summary.code_is]}")
    return lines


_CODE_IS = {"": "", "so far": " (so far: the job was not closed)", "of these rows": " (of the rows that could be read)"}


def _where(pulls: tuple[int, ...]) -> str:
    return f"pull {' and '.join(str(each) for each in pulls)}, " if pulls else ""
