"""The report: one HTML file that needs no network and no script, a table for spreadsheets, JSON for programs."""

import csv
import io
import json
import re
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from assistant.exits import Exit, Refusal
from assistant.record.export import as_json
from assistant.record.sheet import sheet
from assistant.record.summary import JobSummary
from assistant.record.view import view

_TEMPLATES = Path(__file__).with_name("templates")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?(e[+-]?\d+)?")
_FORMULA = tuple("=+-@\t\r\n")
_COLUMNS = (
    *("number", "pass", "direction", "wall", "position", "band", "head", "readings", "hold", "fall_back"),
    *("outcome", "percent", "how", "mark", "remark"),
)


@cache
def templates() -> Environment:
    """The report's templates, with what they need of style."""
    found = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,  # every text of the job is inert
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Own text, not the job's: the only thing that goes in unescaped.
    for name in ("drawing", "style", "sheet"):
        found.globals[f"{name}_css"] = Markup((_TEMPLATES / f"{name}.css").read_text(encoding="utf-8"))
    found.globals["blank"] = _blank
    return found


def _blank(text: str) -> str | Markup:
    """What nobody told stands out, in words."""
    return Markup('<span class="blank">not recorded</span>') if text in ("–", "not recorded") else text


def render_html(summary: JobSummary) -> str:
    """The report; the same job always gives the same text."""
    return templates().get_template("report.html").render(view(summary))


def render_csv(summary: JobSummary) -> str:
    """One line per pull, with the job's number and code in front."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(("job", "code", *(each.replace("_", " ") for each in _COLUMNS)))
    for pull in view(summary)["pulls"]:
        table.writerow([cell(each) for each in (summary.job, summary.code, *(pull[name] for name in _COLUMNS))])
    return out.getvalue()


def cell(value: object) -> str:
    """A cell no spreadsheet takes for a formula: such beginnings get an apostrophe, plain numbers stay numbers."""
    text = str(value)
    if text.startswith(_FORMULA) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def render_json(summary: JobSummary) -> str:
    """The summary for programs; lengths as exact fractions of an inch."""
    return json.dumps(as_json(summary), indent=2, ensure_ascii=False) + "\n"


def render_sheet(summary: JobSummary) -> str:
    """The inspection sheet: one page for the printer."""
    return templates().get_template("sheet.html").render(sheet(summary))


def write_report(summary: JobSummary, path: Path) -> Path:
    """Write the HTML report to `path`. Raises Refusal (NOT_WRITABLE)."""
    return _write(render_html(summary), path)


def write_sheet(summary: JobSummary, path: Path) -> Path:
    """Write the inspection sheet to `path`. Raises Refusal (NOT_WRITABLE)."""
    return _write(render_sheet(summary), path)


def write_csv(summary: JobSummary, path: Path) -> Path:
    """Write the table of pulls to `path`. Raises Refusal (NOT_WRITABLE)."""
    return _write(render_csv(summary), path)


def write_json(summary: JobSummary, path: Path) -> Path:
    """Write the JSON to `path`. Raises Refusal (NOT_WRITABLE)."""
    return _write(render_json(summary), path)


def _write(text: str, path: Path) -> Path:
    if path.is_symlink():  # in a folder from elsewhere it may lead anywhere
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: is a link; remove it, or choose another folder")
    try:
        # A lone surrogate from a damaged name must not stop the report.
        path.write_bytes(text.encode("utf-8", "replace"))
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: not written ({error.strerror}); choose another folder") from None
    return path
