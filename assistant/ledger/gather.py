"""Every job file of a folder and the folders below it -> tables, in parts, as they are read."""

import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from pathlib import Path
from random import Random

import pyarrow as pa

from assistant.exits import Exit, Refusal
from assistant.ledger.kept import read_kept
from assistant.ledger.places import Place
from assistant.ledger.tables import DIGEST
from assistant.ledger.worker import digest_of, read_some, ready

_CHUNK = 50
"""Files to a piece of work."""
FEW = 150
"""So many files are soon read: no second process is worth its start, and nothing is kept of them."""


def gather(folder: Path, places: list[Place], *, afresh: bool = False) -> Iterator[pa.Table]:
    """The files' facts in parts: first, in one, what was kept of unchanged files; then the others in random order.

    In random order each part is a fair sample, so that a first table is right within chance. `afresh` believes nothing
    that was kept. Raises Refusal (STOPPED) where the system ended a reading process.
    """
    left = places
    if not afresh:
        kept = read_kept(folder)
        if kept.num_rows:
            known, left = _split(kept, places)
            yield known
    Random(len(left)).shuffle(left := list(left))
    pieces = [left[at : at + _CHUNK] for at in range(0, len(left), _CHUNK)]
    if len(left) <= FEW:
        yield from map(read_some, pieces)
        return
    try:
        yield from _shared_out(pieces)
    except BrokenProcessPool:
        why = "a process that read job files was ended from outside; make room in memory and call again"
        raise Refusal(Exit.STOPPED, f"{folder}: {why}") from None


def _shared_out(pieces: list[list[Place]]) -> Iterator[pa.Table]:
    """As many processes as there are cores; whoever stops listening stops them."""
    with ProcessPoolExecutor(os.cpu_count() or 1, get_context("spawn"), ready) as pool:
        try:
            for each in as_completed([pool.submit(read_some, piece) for piece in pieces]):
                yield each.result()
        finally:
            pool.shutdown(cancel_futures=True)


def _split(kept: pa.Table, places: list[Place]) -> tuple[pa.Table, list[Place]]:
    """The kept rows of files whose bytes are the same, under their present names; and the files without one."""
    row_of = {digest: row for row, digest in enumerate(kept.column(DIGEST).to_pylist())}
    with ThreadPoolExecutor(os.cpu_count() or 1) as threads:
        digests = threads.map(digest_of, (Path(path) for path, _ in places), chunksize=_CHUNK)
        rows = [row_of.get(each) for each in digests]
    hits = [(row, file) for row, (_, file) in zip(rows, places, strict=True) if row is not None]
    known = kept.take(pa.array([row for row, _ in hits], pa.int64()))
    place = known.schema.get_field_index("file")
    known = known.set_column(place, "file", pa.array([file for _, file in hits], pa.string()))
    return known, [each for each, row in zip(places, rows, strict=True) if row is None]
