"""The job file: SQLite, append-only, hash-chained, held by one run at a time. Implements ports.Store.

Durability: with synchronous=FULL and the lock held, SQLite syncs the journal, then the file, then the journal's end
mark before COMMIT returns; only then does `append` return. A killed process leaves the lock to the system, and the next
opening rolls an unfinished write back.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.ports import Clock
from assistant.record import schema, trouble
from assistant.record.chain import START, Row, chained, first_break

_BUSY_WAIT_S = 1.0
"""A run that is just ending gets so long to let go."""


class JobFile:
    """A job file open for writing. Made by begin_job or resume_job."""

    def __init__(self, base: sqlite3.Connection, path: Path, clock: Clock, last: tuple[int, str]) -> None:
        """`last` is number and hash of the last row; (0, START) where there is none."""
        self._base, self._clock = base, clock
        self._seq, self._head = last
        self._failed = False
        self.path = path
        self._place = _place(path)

    @property
    def head(self) -> str:
        """Hash of the last row: what the job code is made from."""
        return self._head

    def append(self, rows: Sequence[tuple[str, str]]) -> int:
        """Make (kind, payload) rows durable, all or none, then return the last sequence number (from 1).

        Raises DiskFull, after which it may be tried again, or DiskFailed: after any other disk error the file takes
        nothing more, because nobody can tell what reached the disk.
        """
        self.write(self.next_rows(rows))
        return self._seq

    def next_rows(self, rows: Sequence[tuple[str, str]], after: Sequence[Row] = ()) -> tuple[Row, ...]:
        """What (kind, payload) rows would be as the next of this file, now; or as those that follow `after`."""
        found, head = [], after[-1].hash if after else self._head
        for seq, (kind, payload) in enumerate(rows, start=(after[-1].seq if after else self._seq) + 1):
            found.append(chained(seq, self._clock.wall(), self._clock.monotonic_ms(), kind, payload, head))
            head = found[-1].hash
        return tuple(found)

    def write(self, rows: Sequence[Row]) -> None:
        """Make rows durable that follow from the last one, all or none. Raises as `append`."""
        if self._failed:
            line = f"{self.path}: not written since a disk error; go on in a new job file"
            raise trouble.DiskFailed(Exit.NOT_WRITABLE, line)
        if _place(self.path) != self._place:
            self._failed = True
            raise trouble.gone(self.path)
        try:
            self._base.execute("BEGIN IMMEDIATE")
            for row in rows:
                self._insert(row)
            self._base.execute("COMMIT")
        except BaseException as error:
            self._take_back(error)
            if isinstance(error, sqlite3.Error):
                raise (trouble.failed if self._failed else trouble.refusal)(error, self.path) from error
            raise
        if rows:
            self._seq, self._head = rows[-1].seq, rows[-1].hash

    def _insert(self, row: Row) -> None:
        values = (row.seq, row.wall, row.monotonic_ms, row.kind, row.payload, row.hash)
        self._base.execute(f"INSERT INTO rows ({schema.COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)", values)

    def _take_back(self, error: BaseException) -> None:
        full = not isinstance(error, sqlite3.Error) or trouble.code(error) == sqlite3.SQLITE_FULL
        try:
            if self._base.in_transaction:
                self._base.execute("ROLLBACK")
        except sqlite3.Error:
            full = False
        self._failed = not full

    def rows(self) -> Iterator[tuple[str, str]]:
        """Every row's kind and payload in order."""
        return ((each.kind, each.payload) for each in self.history())

    def history(self) -> tuple[Row, ...]:
        """Every row in order, with its times."""
        return read_rows(self._base)

    def close(self) -> None:
        """Give the job file back; one file is left."""
        try:
            # Leaving exclusive mode takes effect at the next read, which also takes the journal away.
            self._base.execute("PRAGMA locking_mode = NORMAL")
            self._base.execute("SELECT COUNT(*) FROM rows").fetchone()
        except sqlite3.Error:
            pass  # every acknowledged row is durable already; a journal left over is rolled back on opening
        finally:
            self._base.close()


def _place(path: Path) -> tuple[int, int] | None:
    """Which file a name stands for; None = none. SQLite would go on writing to one that was removed under it."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def read_rows(base: sqlite3.Connection) -> tuple[Row, ...]:
    """All rows. Raises sqlite3.Error for pages that cannot be read."""
    # An open cursor would keep the lock beyond the connection's end.
    with closing(base.execute(f"SELECT {schema.COLUMNS} FROM rows ORDER BY seq")) as found:
        return tuple(Row(*each) for each in found)


def begin_job(path: Path, clock: Clock) -> JobFile:
    """A new job file at `path`.

    Raises Refusal: BAD_JOB where something is there already, NOT_WRITABLE, JOB_BUSY.
    """
    if not path.parent.is_dir():
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: the folder {path.parent} does not exist; make it first")
    if path.is_dir() or (path.exists() and path.stat().st_size > 0):
        raise Refusal(Exit.BAD_JOB, f"{path}: exists already; resume it, or name a new file")
    return _open(path, clock, "rwc")


def resume_job(path: Path, clock: Clock) -> JobFile:
    """An existing job file, checked from its first row to its last; an empty one counts as just begun.

    Raises Refusal: BAD_JOB for a missing, foreign, damaged or newer file; JOB_BUSY; NOT_WRITABLE.
    """
    trouble.must_be_a_file(path)
    return _open(path, clock, "rw")


def _open(path: Path, clock: Clock, mode: str) -> JobFile:
    base: sqlite3.Connection | None = None
    try:
        base = _connect(path, mode)
        last = _prepare(base, path)
    except trouble.UNREADABLE as error:
        _drop(base)
        raise trouble.refusal(error, path) from error
    except Refusal:
        _drop(base)
        raise
    return JobFile(base, path, clock, last)


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    address = f"{path.resolve().as_uri()}?mode={mode}"
    # One session may append from a worker thread; it never does so from two at once.
    return sqlite3.connect(address, uri=True, timeout=_BUSY_WAIT_S, isolation_level=None, check_same_thread=False)


def _drop(base: sqlite3.Connection | None) -> None:
    if base is not None:
        base.close()


def _prepare(base: sqlite3.Connection, path: Path) -> tuple[int, str]:
    """Take the lock for the whole session, check or lay out the file; number and hash of its last row."""
    base.execute("PRAGMA locking_mode = EXCLUSIVE")
    base.execute("PRAGMA synchronous = FULL")
    # In exclusive mode the lock stays after this transaction, until the connection closes or the process dies.
    base.execute("BEGIN EXCLUSIVE")
    if schema.is_blank(base, path):
        schema.create(base)
        base.execute("COMMIT")
        return 0, START
    last = _checked(base, path)
    # SQLite opens a file on a read-only disk without a word: try to write now rather than at the first reading.
    base.execute(f"PRAGMA user_version = {schema.version(base)}")
    base.execute("ROLLBACK")
    return last


def _checked(base: sqlite3.Connection, path: Path) -> tuple[int, str]:
    if not schema.is_ours(base):
        raise trouble.foreign(path)
    if schema.version(base) > schema.FORMAT:
        newer = f"written by a newer pullcall (format {schema.version(base)})"
        raise Refusal(Exit.BAD_JOB, f"{path}: {newer}; 'review' reads it, update pullcall to resume it")
    if not schema.is_whole(base):
        raise trouble.damaged(path, "its layout is not as it was made")
    schema.must_fit(base, path)
    rows = read_rows(base)
    broken = first_break(rows)
    if broken is not None:
        seq, why = broken
        left = f"rows 1 to {seq - 1} can still be read" if seq > 1 else "no row can be trusted"
        raise trouble.damaged(path, f"{why}; {left}")
    return (rows[-1].seq, rows[-1].hash) if rows else (0, START)
