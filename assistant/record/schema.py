"""The layout of a job file: one SQLite table that only grows."""

import sqlite3
from pathlib import Path

from assistant.record import trouble

APPLICATION_ID = 0x50554C4C
"""'PULL' in ASCII: tells a job file from other SQLite files."""
FORMAT = 1
"""PRAGMA user_version; raised when an older pullcall could no longer write the file."""

MOST_ROWS = 100_000
"""A day of talk makes about 15,000; more would take gigabytes of memory to fold. A design choice."""
MOST_BYTES = 200_000_000
"""Likewise."""

COLUMNS = "seq, wall, monotonic_ms, kind, payload, hash"

_TABLE = """CREATE TABLE rows (
    seq INTEGER PRIMARY KEY,
    wall TEXT NOT NULL,
    monotonic_ms INTEGER NOT NULL,
    kind TEXT NOT NULL,
    payload TEXT NOT NULL,
    hash TEXT NOT NULL
)"""
_NO_UPDATE = """CREATE TRIGGER rows_no_update BEFORE UPDATE ON rows
BEGIN SELECT RAISE(ABORT, 'a job file only grows: no row is changed'); END"""
_NO_DELETE = """CREATE TRIGGER rows_no_delete BEFORE DELETE ON rows
BEGIN SELECT RAISE(ABORT, 'a job file only grows: no row is taken out'); END"""
# REPLACE would delete without asking the trigger above, so a row may only come next in line.
_NEXT_ONLY = """CREATE TRIGGER rows_next_only BEFORE INSERT ON rows
WHEN NEW.seq IS NOT (SELECT COALESCE(MAX(seq), 0) + 1 FROM rows)
BEGIN SELECT RAISE(ABORT, 'a job file only grows: a row comes next in line'); END"""
_ALL = (_TABLE, _NO_UPDATE, _NO_DELETE, _NEXT_ONLY)


def create(base: sqlite3.Connection) -> None:
    """Lay out an empty database, inside the transaction that is open."""
    base.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    base.execute(f"PRAGMA user_version = {FORMAT}")
    for each in _ALL:
        base.execute(each)


def is_blank(base: sqlite3.Connection, file: Path) -> bool:
    """Nothing was ever laid out: a new file, or one whose very first write was interrupted and is rolled back now."""
    number: int = base.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]
    # SQLite takes a file of a few bytes for an empty database; it is someone's file all the same.
    return not number and file.stat().st_size == 0


def is_ours(base: sqlite3.Connection) -> bool:
    """Marked as a job file."""
    return pragma(base, "application_id") == APPLICATION_ID


def version(base: sqlite3.Connection) -> int:
    """The format version."""
    return pragma(base, "user_version")


def is_whole(base: sqlite3.Connection) -> bool:
    """The layout is the one made by `create`, triggers included, and SQLite finds its own pages sound."""
    found = {sql for (sql,) in base.execute("SELECT sql FROM sqlite_master")}
    return found == set(_ALL) and base.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)


def must_fit(base: sqlite3.Connection, path: Path) -> None:
    """Raises Refusal (BAD_JOB) for a file that would take all memory: known before any row is read."""
    if path.stat().st_size > MOST_BYTES:
        raise trouble.too_large(path, f"holds {path.stat().st_size:,} bytes", f"{MOST_BYTES:,}")
    try:
        (last,) = base.execute("SELECT COALESCE(MAX(seq), 0) FROM rows").fetchone()
    except trouble.UNREADABLE:
        return  # reading the rows will say what is wrong
    if last > MOST_ROWS:
        raise trouble.too_large(path, f"holds {last:,} rows", f"{MOST_ROWS:,}")


def pragma(base: sqlite3.Connection, name: str) -> int:
    """The number a PRAGMA answers."""
    return int(base.execute(f"PRAGMA {name}").fetchone()[0])
