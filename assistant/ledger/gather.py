"""Every job file of a folder and the folders below it -> facts, in parts, as they are read.

Tables are loaded late: the reading processes split off before that, and read while this one loads what it needs.
"""

import os
import sys
import time
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import chain, islice
from multiprocessing import get_context
from multiprocessing.context import BaseContext
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from assistant.exits import Exit, Refusal
from assistant.ledger.columns import Columns, merged
from assistant.ledger.lean import load_without_pandas
from assistant.ledger.places import KEPT, Place
from assistant.ledger.worker import Seen, digest_of, glance_some, read_some, ready

if TYPE_CHECKING:
    import pyarrow as pa

_CHUNK = 50
"""Files to a piece of work."""
FEW = 150
"""So many files are soon read: no second process is worth its start, and nothing is kept of them."""
AT_ONCE = 20
"""Pieces laid out as one table, where there are many."""
MANY = 2000
"""From so many files on a first sight of all of them comes long before they are checked."""


class Gathering:
    """The reading of a folder: what is known of its files, and those that are left."""

    def __init__(self, folder: Path, places: list[Place], *, afresh: bool, first: bool) -> None:
        self.known: pa.Table | None = None
        """Kept of unchanged files; None = of none."""
        left = list(places)
        if not afresh and (folder / KEPT).is_file():
            self.known, left = _known(folder, left)
        # In random order each part is a fair sample, so that a table of some of them is right within chance.
        Random(len(left)).shuffle(left)
        self.all_known = not left
        """Nothing has changed since the last review."""
        self._left = left
        self._pool = _Pool() if len(left) > FEW else None
        self._whole: list[pa.Table] = []
        pool = self._pool if first and len(left) > MANY else None
        self._glances = {} if pool is None else {pool.submit(glance_some, each): each for each in _pieces(left)}

    @property
    def many(self) -> bool:
        """So many files are left that a first sight is worth while."""
        return bool(self._glances)

    def glanced(self, until: float) -> "Iterator[pa.Table]":
        """What is known, and the others at first sight: unchecked, in random order; what is there by `until`."""
        if self.known is not None:
            yield self.known
        found = list(self._seen(until))
        yield from _tables((each.known for each in found), AT_ONCE)
        self._whole += _tables((each.whole for each in found), AT_ONCE)
        yield from self._whole

    def _seen(self, until: float) -> Iterator[Seen]:
        """Likewise, as handed over; those that were read wholly are left no more."""
        left: list[Place] = []
        try:
            for each in as_completed(list(self._glances), max(0.0, until - time.monotonic())):
                del self._glances[each]
                seen = each.result()
                left += seen.left
                yield seen
        except TimeoutError:
            for each in self._glances:
                each.cancel()
        self._left = [*left, *chain.from_iterable(self._glances.values())]

    def read(self) -> "Iterator[pa.Table]":
        """All files as they are, checked: first, in one part, what is known, then the others in random order."""
        yield from self._whole if self.known is None else [self.known, *self._whole]
        pieces = _pieces(self._left)
        if self._pool is None:
            yield from _tables(map(read_some, pieces), 1)
        else:
            read = as_completed([self._pool.submit(read_some, piece) for piece in pieces])
            yield from _tables((each.result() for each in read), AT_ONCE if len(self._left) > MANY else 1)

    def end(self) -> None:
        """Stop the reading processes; nothing waits for what they were to read."""
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)


class _Pool(ProcessPoolExecutor):
    """As many processes as there are cores."""

    def __init__(self) -> None:
        super().__init__(os.cpu_count() or 1, _context(), ready)


def _context() -> BaseContext:
    """A process that is split off need not load anything, but that is only sound where no second thread runs."""
    tasks = Path("/proc/self/task")
    alone = sys.platform == "linux" and tasks.is_dir() and len(list(tasks.iterdir())) == 1
    return get_context("fork" if alone else "spawn")


@contextmanager
def gathering(folder: Path, places: list[Place], *, afresh: bool = False, first: bool = False) -> Iterator[Gathering]:
    """The reading of these files, begun; at its end the reading processes are ended, too.

    `afresh` believes nothing that was kept; `first` = many files are to be looked at before they are checked. Raises
    Refusal (STOPPED) where the system ended a reading process.
    """
    files = Gathering(folder, places, afresh=afresh, first=first)
    try:
        yield files
    except BrokenProcessPool:
        why = "a process that read job files was ended from outside; make room in memory and call again"
        raise Refusal(Exit.STOPPED, f"{folder}: {why}") from None
    finally:
        files.end()


def gather(folder: Path, places: list[Place], *, afresh: bool = False) -> "Iterator[pa.Table]":
    """All files' facts, checked, in parts. Raises likewise."""
    with gathering(folder, places, afresh=afresh) as files:
        yield from files.read()


def _pieces(left: list[Place]) -> list[list[Place]]:
    return [left[at : at + _CHUNK] for at in range(0, len(left), _CHUNK)]


def _tables(parts: Iterable[Columns], at_once: int) -> "Iterator[pa.Table]":
    """So many parts make a table: each of its columns costs as much as filling it with a thousand values."""
    from assistant.ledger.tables import table_of

    left = iter(parts)
    while some := list(islice(left, at_once)):
        yield table_of(merged(some))


def _known(folder: Path, places: list[Place]) -> "tuple[pa.Table | None, list[Place]]":
    """The kept rows of files whose bytes are the same, under their present names; and the files without one."""
    load_without_pandas()
    import pyarrow as pa

    from assistant.ledger.kept import read_kept
    from assistant.ledger.tables import DIGEST

    kept = read_kept(folder)
    if not kept.num_rows:
        return None, places
    row_of = {digest: row for row, digest in enumerate(kept.column(DIGEST).to_pylist())}
    with ThreadPoolExecutor(os.cpu_count() or 1) as threads:
        rows = [row_of.get(each) for some in threads.map(_digests, _pieces(places)) for each in some]
    hits = [(row, file) for row, (_, file) in zip(rows, places, strict=True) if row is not None]
    known = kept.take(pa.array([row for row, _ in hits], pa.int64()))
    place = known.schema.get_field_index("file")
    known = known.set_column(place, "file", pa.array([file for _, file in hits], pa.string()))
    return known, [each for each, row in zip(places, rows, strict=True) if row is None]


def _digests(places: Iterable[Place]) -> list[str]:
    return [digest_of(path) for path, _ in places]
