"""Reads a job file without changing it, as far as it can be read."""

import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.record import schema, trouble
from assistant.record.chain import START, Row, why_broken

_BUSY_WAIT_S = 1.0


@dataclass(frozen=True)
class Reading:
    """What a job file gave."""

    path: Path
    rows: tuple[Row, ...]
    """From the first to the last row that follows from the one before it."""
    damage: str
    """What ended the reading, in one sentence; '' = the file was read to its end."""
    version: int
    """Format version of the file."""

    @property
    def newer(self) -> bool:
        """Written in a format that came after this version of pullcall."""
        return self.version > schema.FORMAT

    @property
    def blank(self) -> bool:
        """Nothing was ever written to it."""
        return not self.rows and not self.damage


def read_job(path: Path) -> Reading:
    """The rows of a job file that can be trusted, and what is wrong with the others.

    The file itself is never written. Raises Refusal: BAD_JOB for a missing or foreign file, JOB_BUSY while a session
    holds it, NOT_WRITABLE where an unfinished write must be rolled back on a copy and there is no room for one.
    """
    trouble.must_be_a_file(path)
    try:
        return _read(path, path, "ro")
    except trouble.UNREADABLE as error:
        if trouble.code(error) not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
            raise trouble.refusal(error, path) from error
    return _read_copy(path)


def _read_copy(path: Path) -> Reading:
    """A killed session left an unfinished write; it is rolled back on a copy."""
    try:
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder, "copy")
            shutil.copyfile(path, copy)
            journal = Path(f"{path}-journal")
            if journal.exists():
                shutil.copyfile(journal, Path(f"{copy}-journal"))
            return _read(copy, path, "rw")
    except trouble.UNREADABLE as error:
        raise trouble.refusal(error, path) from error
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: cannot be copied for reading ({error.strerror})") from error


def _read(file: Path, path: Path, mode: str) -> Reading:
    base = sqlite3.connect(f"{file.resolve().as_uri()}?mode={mode}", uri=True, timeout=_BUSY_WAIT_S)
    try:
        if schema.is_blank(base, file):
            return Reading(path, (), "", schema.FORMAT)
        if not schema.is_ours(base):
            raise trouble.foreign(path)
        rows, damage = _trusted(base)
        if not damage and schema.version(base) <= schema.FORMAT and not schema.is_whole(base):
            damage = "every row is sound, but the file's layout or pages are not as they were made"
        return Reading(path, rows, damage, schema.version(base))
    finally:
        base.close()


def _trusted(base: sqlite3.Connection) -> tuple[tuple[Row, ...], str]:
    """Rows up to the first that cannot be read or does not follow; why it ended there."""
    rows: list[Row] = []
    before = START
    try:
        with closing(base.execute(f"SELECT {schema.COLUMNS} FROM rows ORDER BY seq")) as found:
            for each in found:
                row, seq = Row(*each), len(rows) + 1
                why = why_broken(row, seq, before)
                if why is not None:
                    return tuple(rows), why
                rows.append(row)
                before = row.hash
    except trouble.UNREADABLE as error:
        return tuple(rows), f"row {len(rows) + 1} cannot be read ({error})"
    return tuple(rows), ""
