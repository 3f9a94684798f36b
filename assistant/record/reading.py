"""Reads a job file without changing it, as far as it can be read."""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.record import schema, trouble
from assistant.record.chain import START, Row, why_broken

_BUSY_WAIT_S = 1.0


@dataclass(frozen=True)
class Scan:
    """What going through a job file row by row showed."""

    path: Path
    count: int
    """Rows from the first to the last one that follows from the one before it."""
    damage: str
    """What ended the reading, in one sentence; '' = the file was read to its end."""
    version: int
    """Format version of the file."""

    @property
    def newer(self) -> bool:
        """Written in a format that came after this version of pullcall."""
        return self.version > schema.FORMAT


@dataclass(frozen=True)
class Reading(Scan):
    """What a job file gave."""

    rows: tuple[Row, ...]
    """The rows that were counted."""

    @property
    def blank(self) -> bool:
        """Nothing was ever written to it."""
        return not self.rows and not self.damage


def read_job(path: Path) -> Reading:
    """The rows of a job file that can be trusted, and what is wrong with the others.

    The file itself is never written. Raises Refusal: BAD_JOB for a missing, foreign or overlong file, JOB_BUSY while a
    session holds it, NOT_WRITABLE where an unfinished write must be rolled back on a copy and there is no room for one.
    """
    rows: list[Row] = []
    found = scan_job(path, rows.append, check=schema.must_fit)
    return Reading(path, found.count, found.damage, found.version, tuple(rows))


Check = Callable[[sqlite3.Connection, Path], None]
"""May refuse a file before its rows are gone through."""


def scan_job(path: Path, take: Callable[[Row], object], check: Check = lambda base, path: None) -> Scan:
    """As `read_job`, one row at a time into `take`: files of any length in little memory."""
    trouble.must_be_a_file(path)
    try:
        return _scan(path, path, "ro", take, check)
    except trouble.UNREADABLE as error:
        if trouble.code(error) not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
            raise trouble.refusal(error, path, trouble.NO_ROW) from error
    return _scan_copy(path, take, check)


def _scan_copy(path: Path, take: Callable[[Row], object], check: Check) -> Scan:
    """A killed session left an unfinished write; it is rolled back on a copy."""
    try:
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder, "copy")
            shutil.copyfile(path, copy)
            journal = Path(f"{path}-journal")
            if journal.exists():
                shutil.copyfile(journal, Path(f"{copy}-journal"))
            return _scan(copy, path, "rw", take, check)
    except trouble.UNREADABLE as error:
        raise trouble.refusal(error, path, trouble.NO_ROW) from error
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: cannot be copied for reading ({error.strerror})") from error


def _scan(file: Path, path: Path, mode: str, take: Callable[[Row], object], check: Check) -> Scan:
    base = sqlite3.connect(f"{file.resolve().as_uri()}?mode={mode}", uri=True, timeout=_BUSY_WAIT_S)
    try:
        if schema.is_blank(base, file):
            return Scan(path, 0, "", schema.FORMAT)
        if not schema.is_ours(base):
            raise trouble.foreign(path)
        check(base, path)
        count, damage = _trusted(base, take)
        if not damage and schema.version(base) <= schema.FORMAT and not schema.is_whole(base):
            damage = "every row is sound, but the file's layout or pages are not as they were made"
        return Scan(path, count, damage, schema.version(base))
    finally:
        base.close()


def _trusted(base: sqlite3.Connection, take: Callable[[Row], object]) -> tuple[int, str]:
    """Rows up to the first that cannot be read or does not follow: how many, and why it ended there."""
    count, before = 0, START
    try:
        with closing(base.execute(f"SELECT {schema.COLUMNS} FROM rows ORDER BY seq")) as found:
            for each in found:
                row = Row(*each)
                why = why_broken(row, count + 1, before)
                if why is not None:
                    return count, why
                take(row)
                count, before = count + 1, row.hash
    except trouble.UNREADABLE as error:
        return count, f"row {count + 1} cannot be read ({error})"
    return count, ""
