"""The replay of pulls beside the core's fold: the same records event by event, or a doubt."""

import pytest

from assistant.core import events as ev
from assistant.core.fold import fold
from assistant.core.length import inches
from assistant.core.record import PullRecord
from assistant.core.state import State
from assistant.ledger.replay import Replay
from assistant.ledger.turns import Doubt
from tests.ledger.yard import disturbed, talks

LOGS = 300


def split(stream: tuple[ev.Event, ...]) -> tuple[State, tuple[ev.Event, ...]]:
    at = next(place for place, each in enumerate(stream) if isinstance(each, ev.LayChosen)) + 1
    return fold(stream[:at]), stream[at:]


def test_the_replay_goes_with_the_fold_event_by_event() -> None:
    doubts = events = 0
    for seed in range(LOGS):
        state, later = split(disturbed(talks()[seed % len(talks())], 1000 + seed))
        replay = Replay(state)
        for event in later:
            if isinstance(event, ev.Said):
                continue
            try:
                replay.take(event)
            except Doubt:
                doubts += 1
                break
            state = fold([event], state)
            events += 1
            assert replay.records == state.records and replay.finished == state.finished, f"seed {seed}, {event}"
            assert replay.here == state.record
    assert 0 < doubts < LOGS * 0.8 and events > LOGS * 50


def planned() -> State:
    return split(talks()[0])[0]


@pytest.mark.parametrize(
    "events",
    [
        (ev.Scratched(),),
        (ev.Hooked(None),),
        (ev.HoldTaken(inches(1), ""),),
        (ev.Hooked(True), ev.ReadingTaken(inches(1), "")),
        (ev.Proposed(ev.JobNamed("7"), "why"), ev.Confirmed()),
        (ev.JobNamed("7"),),
        (ev.NoteMade("seam", 1),),
        (ev.Said("pull", "one inch", 1.0, "tap"),),
    ],
)
def test_what_it_has_no_rule_for_is_a_doubt(events: tuple[ev.Event, ...]) -> None:
    replay = Replay(planned())
    with pytest.raises(Doubt):
        for event in events:
            replay.take(event)


def test_without_a_plan_no_pull_changes() -> None:
    replay = Replay(State())
    replay.take(ev.Paused())
    assert replay.records == () and replay.here == PullRecord()
    with pytest.raises(Doubt):
        replay.take(ev.Slipped())
