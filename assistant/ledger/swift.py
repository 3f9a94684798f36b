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
from assistant.core.state import State
from assistant.exits import Refusal
from assistant.ledger.facts import Cover, Facts, facts_of
from assistant.ledger.replay import Doubt, Replay
from assistant.record import schema, trouble
from assistant.record.chain import START
from assistant.record.codec import decode
from assistant.record.crew import carried_from, crew_of
from assistant.record.summary import PRACTICE
from assistant.record.walk import after

RawRow = tuple[int, str, int, str, str, str]
"""As `schema.COLUMNS`: number, wall time, monotonic ms, kind, payload, hash."""

_DOMAIN = b"pullcall row v1"
_HASH_LENGTH = (64).to_bytes(8, "big")
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
        parts = (_known(str(seq)), _part(wall), _part(str(monotonic_ms)), _known(kind), _part(payload))
        if sha256(b"".join((_DOMAIN, *parts, _HASH_LENGTH, before.encode()))).hexdigest() != found:
            raise Doubt
        before = found


def _part(text: str) -> bytes:
    data = text.encode("utf-8", "surrogatepass")
    return len(data).to_bytes(8, "big") + data


_known = lru_cache(maxsize=4096)(_part)


def _facts(file: str, rows: Sequence[RawRow]) -> Facts:
    split = next((at for at, row in enumerate(rows, start=1) if row[3] == "lay_chosen"), len(rows))
    state = State()
    told = [event_of(row[3], row[4]) for row in rows[:split] if not _is_aside(row)]
    for event in told:
        later = after(state, event)
        if later is None:
            raise Doubt
        state = later
    replay = Replay(state)
    for row in rows[split:]:
        if not _is_aside(row):
            event = event_of(row[3], row[4])
            replay.take(event)
            told.append(event)
    crew, person = crew_of(told)
    practice = any(isinstance(each, ev.Started) and each.program.startswith(PRACTICE) for each in told)
    about = (practice, crew, person, carried_from(told))
    cover = Cover(file, len(rows), rows[0][1], "", False, *about)
    return facts_of(replace(state, records=replay.records, finished=replay.finished), cover)


def _is_aside(row: RawRow) -> bool:
    """Sound and without effect; Doubt where its fields are not as they should be."""
    wanted = _ASIDES.get(row[3])
    if wanted is None:
        return False
    try:
        found = json.loads(row[4])
    except (ValueError, RecursionError):
        raise Doubt from None
    if type(found) is not dict or found.keys() != wanted.keys():
        raise Doubt
    if any(type(found[name]) is not kind for name, kind in wanted.items()):
        raise Doubt
    return True


@lru_cache(maxsize=65_536)
def event_of(kind: str, payload: str) -> ev.Event:
    """The event of a row; the same few readings come again and again."""
    return decode(kind, payload)
