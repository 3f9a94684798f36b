"""A job's facts in a tenth of the time, for the jobs that are as most are; for any other, nothing.

A folder of ten thousand jobs cannot wait for ten thousand careful readings. This one takes the file's bytes and checks
pages and chain as the careful one does. Of a plain job it then reckons only what facts rest on (`plain_job`); of
another it folds up to the plan with the core itself, and replays what changes pulls. Whatever it does not know for
certain (damage, an older rule, an odd value, a change of the set-up after the plan) is a Doubt, and the careful reading
decides. tests/ledger hold all of them against each other.
"""

import json
import re
from collections.abc import Sequence
from dataclasses import replace

from assistant.core import events as ev
from assistant.core.state import State
from assistant.exits import Refusal
from assistant.ledger.facts import Facts, cover_of, facts_of
from assistant.ledger.links import RawRow, must_hold
from assistant.ledger.plain_job import plain_facts
from assistant.ledger.replay import Replay
from assistant.ledger.rows import glance, rows_of
from assistant.ledger.turns import Doubt
from assistant.record import trouble
from assistant.record.codec import decode
from assistant.record.walk import after

_decoded = json.JSONDecoder().decode
_SAID = {"ask": str, "by": str, "score": float, "text": str}
"""Fields of what was said, which changes nothing: read without making an event of it."""
_TEXT = r'"[^"\\\x00-\x1f]*"'
_PLAINLY_SAID = re.compile(
    rf'\{{"ask":{_TEXT},"by":{_TEXT},"score":(0|[1-9][0-9]{{0,3}})\.[0-9]{{1,20}},"text":{_TEXT}\}}', re.ASCII
)
"""As `record.codec` writes it where no sign needs a backslash."""
_DOUBTS = (Doubt, Refusal, OverflowError, *trouble.UNREADABLE)


def swift_facts(file: str, data: bytes) -> Facts | None:
    """The facts of a job file from its bytes; None where only the careful reading can say."""
    try:
        rows = rows_of(data)
        must_hold(rows)
        _must_be_said([row[4] for row in rows if row[3] == "said"])
        try:
            return plain_facts(file, len(rows), rows[0][1], [row[3:5] for row in rows])
        except Doubt:
            return _folded_facts(file, rows)
    except _DOUBTS:
        return None


def glanced_facts(file: str, data: bytes) -> Facts | None:
    """Likewise, at first sight: neither pages nor chain nor what was said is checked, and only plain jobs are known."""
    try:
        seen = glance(data)
        return plain_facts(file, seen.rows, seen.begun, seen.pairs)
    except _DOUBTS:
        return None


def _folded_facts(file: str, rows: Sequence[RawRow]) -> Facts:
    told = [decode(row[3], row[4]) for row in rows if row[3] != "said"]
    split = next((at for at, each in enumerate(told, start=1) if isinstance(each, ev.LayChosen)), len(told))
    state = _folded(told[:split])
    replay = Replay(state)
    for event in told[split:]:
        replay.take(event)
    return facts_of(
        replace(state, records=replay.records, finished=replay.finished), cover_of(file, len(rows), rows[0][1], told)
    )


def _folded(told: Sequence[ev.Event]) -> State:
    state = State()
    for event in told:
        later = after(state, event)
        if later is None:
            raise Doubt
        state = later
    return state


def _must_be_said(payloads: Sequence[str]) -> None:
    """Is every one as it should be, though nothing comes of it? Raises Doubt."""
    for payload in payloads:
        if _PLAINLY_SAID.fullmatch(payload) is None and not _is_said(payload):
            raise Doubt


def _is_said(payload: str) -> bool:
    try:
        found = _decoded(payload)
    except (ValueError, RecursionError):
        return False
    return type(found) is dict and {name: type(value) for name, value in found.items()} == _SAID
