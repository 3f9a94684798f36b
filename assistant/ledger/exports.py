"""The ledger as files: a table for spreadsheets, JSON for programs, Parquet for other engines."""

import csv
import io
import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.ledger.answers import Answers, Row
from assistant.ledger.wording import reason
from assistant.record.report import cell


def as_csv(answers: Answers, jobs: Sequence[Row]) -> str:
    """One line per job, with the reasons for a second look at its end."""
    looks: dict[str, list[str]] = {}
    for each in answers.second_look:
        looks.setdefault(each["file"], []).append(reason(each))
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    names = list(jobs[0])
    table.writerow([*(each.replace("_", " ") for each in names), "second look"])
    for row in jobs:
        values = ("" if row[name] is None else row[name] for name in names)
        table.writerow([cell(each) for each in (*values, "; ".join(looks.get(row["file"], ())))])
    return out.getvalue()


def as_json(folder: Path, answers: Answers, jobs: Sequence[Row]) -> str:
    """All answers and the table of jobs; figures as numbers, reasons in words beside them."""
    found = asdict(answers)
    found["second_look"] = [{**each, "text": reason(each)} for each in answers.second_look]
    whole = {"folder": str(folder), **found, "jobs": list(jobs)}
    return json.dumps(whole, indent=2, ensure_ascii=True)


def write_text(text: str, path: Path) -> None:
    """Raises Refusal (NOT_WRITABLE)."""
    try:
        path.write_bytes(text.encode("utf-8", "replace"))
    except OSError as error:
        raise not_written(path, error) from None


def not_written(path: Path, error: OSError) -> Refusal:
    """In one line."""
    return Refusal(Exit.NOT_WRITABLE, f"{path}: not written ({error.strerror or error}); name another file")
