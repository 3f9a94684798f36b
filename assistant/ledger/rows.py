"""The rows in the bytes of a job file.

One SQLite connection serves all files of a process: a new one for each would spend two thirds of the time on being set
up. What it prepared for one file's layout is used for the next one's, so a layout that is not to the letter the common
one is doubted before anything is read by it.
"""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from functools import cache
from typing import NamedTuple

from assistant.ledger.links import RawRow
from assistant.ledger.turns import Doubt
from assistant.record import schema

_USER_VERSION = slice(60, 64)
_APPLICATION_ID = slice(68, 72)
"""Where a SQLite file's header has them, first byte first (sqlite.org/fileformat.html, 1.3)."""


class Glance(NamedTuple):
    """What is needed of a file at first sight."""

    rows: int
    """The last row's number."""
    begun: str
    """Wall time of the first."""
    pairs: Sequence[tuple[str, str]]
    """Kind and payload of all but what was said."""


def glance(data: bytes) -> Glance:
    """As they stand: neither chain nor pages are checked. Raises Doubt, or an error of `trouble.UNREADABLE`."""
    base = _opened(data)
    found = base.execute("SELECT wall, (SELECT MAX(seq) FROM rows) FROM rows WHERE seq = 1").fetchone()
    begun, count = found or (None, 0)
    if type(begun) is not str or count > schema.MOST_ROWS:
        raise Doubt
    pairs = base.execute("SELECT kind, payload FROM rows WHERE kind <> 'said'").fetchall()
    return Glance(count, begun, pairs)


def rows_of(data: bytes) -> list[RawRow]:
    """All columns, from pages that SQLite finds sound. Raises likewise."""
    base = _opened(data)
    if base.execute("PRAGMA quick_check(1)").fetchone() != ("ok",):
        raise Doubt
    found = base.execute(f"SELECT {schema.COLUMNS} FROM rows ORDER BY seq").fetchall()
    if not 0 < len(found) <= schema.MOST_ROWS:
        raise Doubt
    return found


def _opened(data: bytes) -> sqlite3.Connection:
    if not 0 < len(data) <= schema.MOST_BYTES:
        raise Doubt
    if (_number(data[_APPLICATION_ID]), _number(data[_USER_VERSION])) != (schema.APPLICATION_ID, schema.FORMAT):
        raise Doubt
    base = _base()
    try:
        base.deserialize(data)
        layout = _layout(base)
    except (sqlite3.Error, MemoryError):
        begin_anew()  # the next file gets a connection that has seen nothing
        raise
    if layout != _common_layout():
        raise Doubt
    return base


def begin_anew() -> None:
    """Forget the connection: a process that was split off another must not share one with it."""
    _base.cache_clear()


@cache
def _base() -> sqlite3.Connection:
    return sqlite3.connect(":memory:")


def _number(data: bytes) -> int:
    return int.from_bytes(data, "big")


@cache
def _common_layout() -> list[tuple[str, int]]:
    """Of every file that `schema.create` laid out: what is in it, and the page where it begins."""
    with closing(sqlite3.connect(":memory:")) as base:
        schema.create(base)
        return _layout(base)


def _layout(base: sqlite3.Connection) -> list[tuple[str, int]]:
    return base.execute("SELECT sql, rootpage FROM sqlite_master").fetchall()
