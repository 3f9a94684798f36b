"""A job stored by 0.1.0, before pattern, cushion, strip, gully and slab were asked: [kind, payload] a line.

It is written by nobody any more: what it holds must decode and fold for ever.
"""

import json
from pathlib import Path

from assistant.core import events as ev
from assistant.core.asks import next_ask
from assistant.core.conditions import Noted
from assistant.core.fold import fold
from assistant.core.record import PullRecord
from assistant.core.state import State
from assistant.record.chain import START, Row, chained
from assistant.record.codec import decode, encode
from assistant.record.report import render_csv, render_html, render_json
from assistant.record.summary import summarise

STORED = [
    (kind, payload)
    for kind, payload in map(json.loads, Path(__file__).with_name("job_0_1_0.jsonl").read_text("utf-8").splitlines())
]


def rows() -> tuple[Row, ...]:
    found, before = [], START
    for number, (kind, payload) in enumerate(STORED, start=1):
        found.append(chained(number, "2026-03-17T08:05:00.000+01:00", number, kind, payload, before))
        before = found[-1].hash
    return tuple(found)


def test_every_row_decodes_to_an_event_of_today() -> None:
    events = [decode(kind, payload) for kind, payload in STORED]
    assert not [each for each in events if isinstance(each, ev.Unknown)]
    conditions = [(kind, payload) for kind, payload in STORED if kind in ("condition_noted", "figure_set")]
    assert [encode(decode(*each)) for each in conditions] == conditions


def test_it_folds_to_the_job_it_was() -> None:
    state = fold(decode(*each) for each in STORED)
    assert (state.job, state.finished, len(state.records)) == ("0427", True, 18)
    assert list(state.conditions) == ["temperature", "humidity", "unrolled"]
    assert state.conditions["unrolled"] == Noted()
    assert state.patterns == {}


PULLS = """
9/8 13/8|25/16| 7/4|13/8| 7/4 17/8|33/16| 17/8|33/16| 9/4|| ||doorway 35/16|| 9/4|17/8| 17/8 33/16|| 9/4|| 7/4|27/16|
7/4|27/16| 7/4|| 39/16|| 7/4|| 23/16|| 7/4|27/16| 7/4||
"""


def told(record: PullRecord) -> str:
    """'readings|hold reading|reason for the skip', in inches."""
    readings = " ".join(str(each.moved.inches) for each in record.readings)
    return f"{readings}|{record.hold.moved.inches if record.hold is not None else ''}|{record.skipped}"


def test_every_reading_stays_with_its_pull() -> None:
    """Whatever rule asks for hold readings today: what was measured after hooking, and what was not, is as it was."""
    state = fold(decode(*each) for each in STORED)
    assert " ".join(map(told, state.records)) == " ".join(PULLS.split())
    assert (state.at, state.begun, state.left) == (18, 3, 0)


def test_once_its_room_was_known_the_day_is_not_asked_for_again() -> None:
    state, checked = State(), 0
    for event in (decode(*each) for each in STORED):
        ask = next_ask(state)
        if isinstance(event, ev.Said) and state.plan is not None:
            assert ask is not None and ask.grammar in ("ready", "pull", "hold", "confirm", "paused", "close")
            checked += 1
        state = fold([event], state)
    assert checked > 50


def test_its_report_says_what_was_not_asked() -> None:
    summary = summarise(rows())
    assert not summary.damage
    states = {each.kind: each.state for each in summary.conditions}
    assert states == {
        "temperature": "outside", "humidity": "within", "unrolled": "not recorded", "cushion": "not asked",
        "strip": "not asked", "gully": "not asked", "slab_humidity": "not asked", "slab_ph": "not asked",
    }  # fmt: skip
    assert [each.pattern for each in summary.directions] == [0, 0]
    for rendered in (render_html(summary), render_csv(summary), render_json(summary)):
        assert "0427" in rendered
