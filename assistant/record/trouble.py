"""What can be wrong with a job file -> one line and an exit code."""

import sqlite3
from pathlib import Path

from assistant.exits import Exit, Refusal

Trouble = sqlite3.Error | UnicodeDecodeError
GO_ON = "go on in a new job file and look at this one with 'review'"
NO_ROW = "not one row of it can be shown, look for a copy"
"""What to do about a damaged file that is to be written, or that was to be looked at."""
UNREADABLE = (sqlite3.Error, UnicodeDecodeError)
"""What reading a damaged file raises: Python also trips over SQLite's own messages when they quote damaged text."""
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_BROKEN = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_ERROR, sqlite3.SQLITE_SCHEMA, sqlite3.SQLITE_CONSTRAINT}


class DiskFull(Refusal):
    """Nothing was recorded for want of room; the same may be tried again."""


class DiskFailed(Refusal):
    """Nobody can tell what reached the disk: the file takes nothing more."""


def code(error: Trouble) -> int:
    """SQLite's primary result code; 0 where the error did not come from SQLite."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def refusal(error: Trouble, path: Path, cure: str = GO_ON) -> Refusal:
    """A database error in the words of the trade; `cure` where the file is damaged."""
    found = code(error)
    if found in _BUSY:
        return Refusal(Exit.JOB_BUSY, f"{path}: another pullcall has this job open; end it there first")
    if found == sqlite3.SQLITE_FULL:
        full = "the disk is full, nothing was recorded"
        return DiskFull(Exit.NOT_WRITABLE, f"{path}: {full}; make room and say it again")
    if found == sqlite3.SQLITE_NOTADB:
        return foreign(path)
    if found in _BROKEN or not found:
        return damaged(path, f"its pages cannot be read ({error})", cure)
    return Refusal(Exit.NOT_WRITABLE, f"{path}: nothing was recorded ({error}); check disk and folder")


def failed(error: Trouble, path: Path) -> DiskFailed:
    """A disk error in the middle of a job."""
    return DiskFailed(Exit.NOT_WRITABLE, f"{path}: nothing was recorded ({error}); go on in a new job file")


def gone(path: Path) -> DiskFailed:
    """The file was taken away in the middle of a job."""
    return DiskFailed(Exit.NOT_WRITABLE, f"{path}: moved or removed, nothing was recorded; put it back and resume it")


def too_large(path: Path, what: str, most: str) -> Refusal:
    """Far beyond any job: it would take all memory."""
    more = "'verify' still checks it row by row"
    return Refusal(Exit.BAD_JOB, f"{path}: {what}; a job has at most {most}, larger ones are not opened; {more}")


def foreign(path: Path) -> Refusal:
    """Some other file."""
    return Refusal(Exit.BAD_JOB, f"{path}: not a job file, or damaged at its beginning; give a file pullcall wrote")


def damaged(path: Path, what: str, cure: str = GO_ON) -> Refusal:
    """A job file that is not as it was written."""
    return Refusal(Exit.BAD_JOB, f"{path}: damaged: {what}; {cure}")


def must_be_a_file(path: Path) -> None:
    """Raises Refusal (BAD_JOB) where there is no file at `path`."""
    if path.is_dir():
        raise Refusal(Exit.BAD_JOB, f"{path}: a folder; give the job file itself")
    if not path.exists():
        raise Refusal(Exit.BAD_JOB, f"{path}: no such file; give the path of a job file")
