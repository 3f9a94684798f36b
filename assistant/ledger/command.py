"""`pullcall review FOLDER`: many jobs at once."""

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.exits import Exit, Refusal, one_line
from assistant.ledger import gather
from assistant.ledger.lean import load_without_pandas
from assistant.ledger.places import job_files
from assistant.ledger.targets import check_target

if TYPE_CHECKING:  # they need the extra
    import pyarrow as pa

    from assistant.ledger.answers import Answers

FIRST_TABLE_S = 2.0
"""After so long of reading a first table is made of what is there."""
FIRST_LOOK_S = 3.5
"""So long are many files looked at, unchecked, for a first table of all of them, or of those seen by then."""
SHOWN_UNLIKE = 5
"""Files that are named one by one."""
_NEEDED = ("duckdb", "pyarrow")


@dataclass(frozen=True)
class Wishes:
    """What was asked for beside the page."""

    practice: bool = False
    """Practice jobs count, too."""
    afresh: bool = False
    """Believe nothing that was kept of an earlier reading."""
    json: bool = False
    """Print JSON instead of the page."""
    csv: Path | None = None
    parquet: Path | None = None


def review_folder(folder: Path, wishes: Wishes) -> Exit:
    """Read, ask, print and write; FINDINGS where a file was not read to its end.

    Raises Refusal: USAGE without the extra, BAD_JOB for a folder that is missing or without jobs, NOT_WRITABLE.
    """
    begun = time.monotonic()
    places = job_files(folder)
    for each in filter(None, (wishes.csv, wishes.parquet)):
        check_target(each)
    must_have_the_extra()
    print(f"pullcall: {len(places):,} job files", file=sys.stderr, flush=True)
    with gather.gathering(folder, places, afresh=wishes.afresh, first=True) as files:
        # Loaded only now: the reading processes are at work already.
        load_without_pandas()
        from assistant.ledger.asked import answered
        from assistant.ledger.tables import joined, together

        first = together(files.glanced(begun + FIRST_LOOK_S)) if files.many else None
        if first is not None:
            _show_first(folder, first, len(places), wishes, checked=False)
        parts = files.read() if first is not None else _with_first_table(folder, len(places), files.read(), wishes)
        table = joined(list(parts))
    _tell_unlike(first, table)
    from assistant.ledger.kept import write_kept
    from assistant.ledger.twice import counted_once

    told = counted_once(table)
    found = answered(told, practice=wishes.practice)
    _show(folder, found, told, wishes)
    if len(places) > gather.FEW and not files.all_known:
        why = write_kept(folder, table)
        if why:
            print(f"pullcall: the next review reads all files again: {why}", file=sys.stderr)
    return Exit.FINDINGS if found.totals["unread"] else Exit.DONE


def must_have_the_extra() -> None:
    """Raises Refusal (USAGE)."""
    missing = [each for each in _NEEDED if not _is_there(each)]
    if missing:
        line = f"a folder's review needs {', '.join(missing)}: add the extra, as in pip install 'pullcall[review]'"
        raise Refusal(Exit.USAGE, f"{line}; single jobs, and --out DIR for a report of each, work without")


def _is_there(module: str) -> bool:
    try:
        return find_spec(module) is not None
    except ValueError:  # someone put nothing in its place
        return False


def _with_first_table(folder: Path, files: int, parts: "Iterator[pa.Table]", wishes: Wishes) -> "Iterator[pa.Table]":
    """The parts as they come; once, when it takes long, a first table of those so far, as talk."""
    from assistant.ledger.tables import together

    begun, seen, shown = time.monotonic(), [], False
    for part in parts:
        yield part
        seen.append(part)
        read = sum(each.num_rows for each in seen)
        if not shown and read < files and time.monotonic() - begun > FIRST_TABLE_S:
            shown = True
            _show_first(folder, together(seen), files, wishes, checked=True)


def _show_first(folder: Path, table: "pa.Table", files: int, wishes: Wishes, *, checked: bool) -> None:
    """As talk: it is of some of the files, or of files that are not checked yet, and says so."""
    from assistant.ledger.asked import answered
    from assistant.ledger.page import page
    from assistant.ledger.wording import talk

    first = page(str(folder), answered(table, practice=wishes.practice), ())
    of = talk("all" if table.num_rows == files else "some", read=table.num_rows, files=files)
    told = talk("first", of=of, next=talk("others" if checked else "unchecked"))
    print(f"pullcall: {told}\n\n{first}\n", file=sys.stderr, flush=True)


def _tell_unlike(first: "pa.Table | None", table: "pa.Table") -> None:
    """Which files stood in a first table that was not checked as sound, and are not."""
    from assistant.ledger.tables import unlike
    from assistant.ledger.wording import talk

    names = [] if first is None else unlike(first, table)
    if names:
        shown = [one_line(each) for each in names[:SHOWN_UNLIKE]]
        more = [talk("more", count=len(names) - len(shown))] if len(names) > len(shown) else []
        told = talk("unlike", count=len(names), files=", ".join(shown + more))
        print(f"pullcall: {told}", file=sys.stderr, flush=True)


def _rows(table: "pa.Table") -> list[dict[str, object]]:
    """Only where they are shown one by one: a hundred thousand take hundreds of megabytes."""
    from assistant.ledger.tables import jobs_of

    found: list[dict[str, object]] = jobs_of(table).to_pylist()
    return found


def _show(folder: Path, found: "Answers", table: "pa.Table", wishes: Wishes) -> None:
    from assistant.ledger.exports import as_csv, as_json, not_written, write_text
    from assistant.ledger.kept import write_table
    from assistant.ledger.page import SHOWN_JOBS, page

    each_shown = wishes.json or wishes.csv is not None or table.num_rows <= SHOWN_JOBS
    jobs = _rows(table) if each_shown else []
    print(as_json(folder, found, jobs) if wishes.json else page(str(folder), found, jobs), flush=True)
    if wishes.csv is not None:
        write_text(as_csv(found, jobs), wishes.csv)
    if wishes.parquet is not None:
        try:
            write_table(table, wishes.parquet)
        except OSError as error:
            raise not_written(wishes.parquet, error) from None
    for each in filter(None, (wishes.csv, wishes.parquet)):
        print(f"pullcall: written {each}", file=sys.stderr)
