"""What `pullcall review FOLDER` takes beside the folder. Needs nothing of the extra."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.exits import Exit, Refusal

if TYPE_CHECKING:
    from assistant.ledger.command import Wishes


def add_options(parser: argparse.ArgumentParser) -> None:
    """To the options of `review`."""
    many = parser.add_argument_group("a folder of jobs (its folders included), as one table")
    many.add_argument("--csv", type=Path, metavar="FILE", help="write the table of jobs for spreadsheets")
    many.add_argument("--parquet", type=Path, metavar="FILE", help="write jobs with their pulls as a Parquet file")
    many.add_argument("--json", action="store_true", help="print JSON")
    many.add_argument("--practice", action="store_true", help="count practice jobs, too")
    many.add_argument("--afresh", action="store_true", help="read every file, whatever was kept of the last review")


def is_ledger(options: argparse.Namespace) -> bool:
    """A folder as one table; with --out, --sheet or --code each of its jobs gets a report of its own instead.

    Raises Refusal (USAGE) where options of both are given, or a table is asked of one job file.
    """
    table = [each for each in ("csv", "parquet", "json", "practice", "afresh") if getattr(options, each)]
    single = [each for each in ("out", "code", "sheet") if getattr(options, each)]
    if table and single:
        raise Refusal(Exit.USAGE, f"--{table[0]} makes one table, --{single[0]} a report of each job; choose one")
    if table and options.job.is_file():
        raise Refusal(Exit.USAGE, f"--{table[0]}: {options.job} is one job file; give the folder the jobs are in")
    return bool(table) or (options.job.is_dir() and not single)


def wishes_of(options: argparse.Namespace) -> "Wishes":
    """As given."""
    from assistant.ledger.command import Wishes

    return Wishes(options.practice, options.afresh, options.json, options.csv, options.parquet)
