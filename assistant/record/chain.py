"""The hash chain: every row's hash covers the row and the hash before it."""

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

_DOMAIN = b"pullcall row v1"
START = sha256(b"pullcall job v1").hexdigest()
"""What the first row is chained to."""


@dataclass(frozen=True, slots=True)
class Row:
    """One event as it stands in the job file."""

    seq: int
    """From 1, without a gap."""
    wall: str
    """Local time with offset, ISO 8601."""
    monotonic_ms: int
    """Milliseconds that never run backwards within one session."""
    kind: str
    payload: str
    """Canonical JSON."""
    hash: str
    """SHA-256 in hexadecimal, over all of the above and the hash before."""


def chained(seq: int, wall: str, monotonic_ms: int, kind: str, payload: str, before: str) -> Row:
    """The next row after one whose hash is `before`."""
    return Row(seq, wall, monotonic_ms, kind, payload, _hash(seq, wall, monotonic_ms, kind, payload, before))


def _hash(*parts: str | int) -> str:
    """Each part goes in with its length, so that no two sets of parts make the same bytes."""
    taken = sha256(_DOMAIN)
    for part in parts:
        data = str(part).encode("utf-8", "surrogatepass")
        taken.update(len(data).to_bytes(8, "big"))
        taken.update(data)
    return taken.hexdigest()


def why_broken(row: Row, seq: int, before: str) -> str | None:
    """Why `row` cannot be row `seq` after one whose hash is `before`; None where it is."""
    if row.seq != seq:
        return f"row {seq} is missing"
    texts = (row.wall, row.kind, row.payload, row.hash)
    if type(row.monotonic_ms) is not int or not all(isinstance(each, str) for each in texts):
        return f"row {seq} was changed or damaged: pullcall writes no such values"
    if row != chained(seq, row.wall, row.monotonic_ms, row.kind, row.payload, before):
        return f"row {seq} was changed or damaged, or a row before it was taken out"
    return None


def first_break(rows: Iterable[Row]) -> tuple[int, str] | None:
    """Number and description of the first row that breaks the chain; None where it holds."""
    before = START
    for seq, row in enumerate(rows, start=1):
        why = why_broken(row, seq, before)
        if why is not None:
            return seq, why
        before = row.hash
    return None
