"""A job's facts in a third of the time, for the jobs that are as most are; for any other, nothing.

A folder of ten thousand jobs cannot wait for ten thousand careful readings. This one takes the file's bytes, checks the
chain as `record.chain` does, folds up to the plan with the core itself, and then replays only what changes pulls.
Whatever it does not know for certain (damage, an older rule, an odd value, a change of the set-up after the plan) is a
Doubt, and the careful reading decides. tests/ledger hold both against each other.
"""

import json
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from functools import lru_cache
from hashlib import sha256

from assistant.core import events as ev
from assistant.core.record import PullRecord
from assistant.core.state import State
from assistant.exits import Refusal
from assistant.ledger.facts import Cover, Facts, facts_of, job_facts
from assistant.ledger.judged import judged_pulls
from assistant.ledger.plain import plain_dues
from assistant.ledger.replay import Doubt, Replay
from assistant.record import schema, trouble
from assistant.record.chain import START
from assistant.record.codec import decode
from assistant.record.crew import carried_from, crew_of
from assistant.record.summary import PRACTICE
from assistant.record.walk import after

RawRow = tuple[int, str, int, str, str, str]
"""As `schema.COLUMNS`: number, wall time, monotonic ms, kind, payload, hash."""

_decoded = json.JSONDecoder().decode
_UNTOUCHED = PullRecord()
_DOMAIN = "pullcall row v1"
_COMMON = 2048
_LENGTHS = tuple(each.to_bytes(8, "big").decode("latin-1") for each in range(_COMMON))
"""Of a part that is hashed: its eight bytes, as characters."""
_ASIDES: dict[str, dict[str, type]] = {
    "said": {"ask": str, "by": str, "score": float, "text": str},
    "missed": {"kind": str},
    "refused": {"why": str},
}
"""Kinds that change no pull, with the fields each must have: read without making an event of it."""


def swift_facts(file: str, data: bytes) -> Facts | None:
    """The facts of a job file from its bytes; None where only the careful reading can say."""
    try:
        rows = _rows(data)
        _must_hold(rows)
        return _facts(file, rows)
    except (Doubt, Refusal, OverflowError, *trouble.UNREADABLE):
        return None


def _rows(data: bytes) -> list[RawRow]:
    if not 0 < len(data) <= schema.MOST_BYTES:
        raise Doubt
    with closing(sqlite3.connect(":memory:")) as base:
        base.deserialize(data)
        if not (schema.is_ours(base) and schema.version(base) == schema.FORMAT and schema.is_whole(base)):
            raise Doubt
        found = base.execute(f"SELECT {schema.COLUMNS} FROM rows ORDER BY seq").fetchall()
    if not 0 < len(found) <= schema.MOST_ROWS:
        raise Doubt
    return found


def _must_hold(rows: Sequence[RawRow]) -> None:
    """The chain, as record.chain.why_broken looks at it. Raises Doubt."""
    before = START
    for count, (seq, wall, monotonic_ms, kind, payload, found) in enumerate(rows, start=1):
        if seq != count or type(monotonic_ms) is not int:
            raise Doubt
        if not (type(wall) is type(kind) is type(payload) is type(found) is str):
            raise Doubt
        plain = len(payload) < _COMMON and wall.isascii() and kind.isascii() and payload.isascii()
        parts = (str(seq), wall, str(monotonic_ms), kind, payload, before)
        if sha256(_ascii(*parts) if plain and len(wall) + len(kind) < _COMMON else _any(parts)).hexdigest() != found:
            raise Doubt
        before = found


def _ascii(seq: str, wall: str, ms: str, kind: str, payload: str, before: str) -> bytes:
    """What is hashed, where every character is one byte: put together as text, which is quicker."""
    long = _LENGTHS
    number = f"{_DOMAIN}{long[len(seq)]}{seq}{long[len(wall)]}{wall}{long[len(ms)]}{ms}"
    return f"{number}{long[len(kind)]}{kind}{long[len(payload)]}{payload}{long[64]}{before}".encode("latin-1")


def _any(parts: Sequence[str]) -> bytes:
    texts = [each.encode("utf-8", "surrogatepass") for each in parts]
    return b"".join((_DOMAIN.encode(), *(each for text in texts for each in (len(text).to_bytes(8, "big"), text))))


def _facts(file: str, rows: Sequence[RawRow]) -> Facts:
    split = next((at for at, row in enumerate(rows) if row[3] == "lay_chosen"), len(rows))
    told = _events(rows[:split])
    state = _folded(State(), told)
    laid = _events(rows[split : split + 1])
    dues = plain_dues(state, laid[0].axis) if laid and isinstance(laid[0], ev.LayChosen) else None
    # A plain room needs no plan: its pulls are known by their numbers and spans.
    state = _folded(state, laid) if dues is None else replace(state, records=(_UNTOUCHED,) * len(dues))
    replay = Replay(state)
    later = _events(rows[split + 1 :])
    for event in later:
        replay.take(event)
    cover = _cover(file, rows, [*told, *laid, *later])
    state = replace(state, records=replay.records, finished=replay.finished)
    return facts_of(state, cover) if dues is None else job_facts(state, cover, "", *judged_pulls(dues, state.records))


def _events(rows: Sequence[RawRow]) -> list[ev.Event]:
    """Those that may change something."""
    return [event_of(row[3], row[4]) for row in rows if not _is_aside(row)]


def _folded(state: State, told: Sequence[ev.Event]) -> State:
    for event in told:
        later = after(state, event)
        if later is None:
            raise Doubt
        state = later
    return state


def _cover(file: str, rows: Sequence[RawRow], told: Sequence[ev.Event]) -> Cover:
    crew, person = crew_of(told)
    practice = any(isinstance(each, ev.Started) and each.program.startswith(PRACTICE) for each in told)
    return Cover(file, len(rows), rows[0][1], "", False, practice, crew, person, carried_from(told))


def _is_aside(row: RawRow) -> bool:
    """Sound and without effect; Doubt where its fields are not as they should be."""
    wanted = _ASIDES.get(row[3])
    if wanted is None:
        return False
    try:
        found = _decoded(row[4])
    except (ValueError, RecursionError):
        raise Doubt from None
    if type(found) is not dict or len(found) != len(wanted):
        raise Doubt
    for name, kind in wanted.items():
        if type(found.get(name)) is not kind:
            raise Doubt
    return True


@lru_cache(maxsize=65_536)
def event_of(kind: str, payload: str) -> ev.Event:
    """The event of a row; the same few readings come again and again."""
    return decode(kind, payload)
