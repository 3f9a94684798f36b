"""Pulls worked in parts between deadmen: all that is asked, said, judged and learnt is of one part."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import advice, plausible
from assistant.core import events as ev
from assistant.core.band import DEFAULT_FIGURE, Verdict, band
from assistant.core.fold import fold
from assistant.core.kit import Build, Kit, Shortage
from assistant.core.length import System, feet, inches
from assistant.core.meaning import Quantity
from assistant.core.neighbours import jumps
from assistant.core.order import Direction
from assistant.core.plan import Plan, Pull, make_plan
from assistant.core.record import PullRecord, Reading
from assistant.core.state import State
from assistant.core.tube_talk import call_change
from assistant.core.tubes import builds
from assistant.orders import read_order
from tests.conftest import Talk

FORTY = (
    "job one", "tufted", "no figure", "the same", "skip the rest", "forty feet", "yes", "twelve feet", "yes",
    "it is square", "no openings", "door left", "left to right", "ready",
)  # fmt: skip
"""Forty feet, which the kit does not reach, by twelve: cross pulls span the forty, two parts of twenty feet."""


def begun(*said: str) -> Talk:
    talk = Talk()
    talk.events = [ev.Started("test", "none", read_order(), kit=Kit())]
    talk.state = fold(talk.events)
    return talk.hear(*said)


@pytest.fixture
def forty() -> Talk:
    return begun(*FORTY)


def plan_of(state: State) -> Plan:
    assert state.plan is not None
    return state.plan


def first(talk: Talk) -> Pull:
    assert talk.state.pull is not None
    return talk.state.pull


def test_the_band_is_that_of_one_part(forty: Talk) -> None:
    """20 ft: 2 7/16 to 3 9/16 in [derived]."""
    pull = first(forty)
    assert (pull.span, pull.parts, pull.stretched) == (feet(40), 2, feet(20))
    assert pull.band == band(feet(20), DEFAULT_FIGURE, System.IMPERIAL)
    assert pull.band is not None and pull.band.tape_least == inches("39/16")
    assert pull.band.tape_most == inches("57/16")


def test_the_call_out_says_that_it_is_each_part(forty: Talk) -> None:
    assert forty.asked[-2:] == [
        "Pull one, in two parts.",
        "Each part at least two and seven sixteenths inches.",
    ]


def test_the_tubes_for_one_part_are_called(forty: Talk) -> None:
    """20 ft less 2 1/2 in and 47 in of head, lever, extension and tail: 190 1/2 in, four tubes of 4 ft [derived]."""
    told = forty.asked[:5]
    assert told[0].endswith("short.") and told[1] == "Deadman: two parts, twenty feet."
    assert told[2:] == ["Tubes for each part:", "Four four foot tubes.", "Hole one."]
    forty.hear("which tubes")
    assert forty.said == told
    forty.hear("two and three quarters", "hooked", "two and a half")
    assert forty.asked[0].startswith("Position ")  # they stand


def test_the_tubes_from_part_to_part_are_changes_only(forty: Talk) -> None:
    one, two = builds(Kit(), [feet(40), feet(44)])
    told = [forty.spoken(each) for each in call_change(one, two, System.IMPERIAL)]
    assert told[1:] == ["Deadman: two parts, twenty two feet.", "Add one two foot tube."]


def test_the_least_of_one_part_is_in_band_and_that_of_the_whole_is_no_longer(forty: Talk) -> None:
    forty.hear("two and seven sixteenths")
    assert forty.said[-1] == "In band. Hook it."
    forty.hear("four and seven eighths")
    assert forty.keys == [] and forty.asks == "confirm"  # over twice the least of a part: doubted
    forty.hear("yes")
    assert forty.said[-1].startswith("Over by one and five sixteenths")


def test_a_target_above_the_least_is_each_parts(forty: Talk) -> None:
    forty.hear("two and three quarters", "hooked", "two and a half")
    told = forty.asked
    assert told[-2] == "Pull two, in two parts." and told[-1].startswith("Each part: aim for two and ")


def test_without_a_figure_one_part_is_asked_for_and_told_in_per_cent() -> None:
    talk = begun("job one", "woven", *FORTY[2:])
    assert talk.asked[-2:] == ["Pull one, in two parts.", "Say what one part moved."]
    talk.hear("two and seven sixteenths")
    assert talk.said[-1] == "One point zero two per cent. No verdict."


def test_pulls_within_reach_are_one_part(forty: Talk) -> None:
    whole = [each for each in plan_of(forty.state).pulls if each.span == feet(12)]
    assert whole and all((each.parts, each.stretched) == (1, feet(12)) for each in whole)


def test_what_is_doubted_is_by_one_part(forty: Talk) -> None:
    doubt = plausible.reading(Quantity(Fraction(79, 16), "in"), System.IMPERIAL, first(forty), PullRecord())
    assert doubt is not None and doubt.why == "doubt_large"


def test_fall_back_and_drift_count_shares_of_one_part(forty: Talk) -> None:
    """From a part of 20 ft to a span of 12 ft the loss is carried as a share of what was stretched."""
    pulls = plan_of(forty.state).pulls
    cross, length = first(forty), next(each for each in pulls if each.direction is Direction.LENGTH)
    lost = PullRecord(readings=(Reading(inches(3)),), hooked=True, hold=Reading(inches("11/4")))
    records = [lost, *[PullRecord()] * (len(pulls) - 1)]
    found = advice.Losses(pulls, records).at(length)
    assert cross is pulls[0]
    assert found is not None and found.expected == inches("1/4") * Fraction(12, 20)


def test_uneven_by_the_share_of_one_part(forty: Talk) -> None:
    one, two = plan_of(forty.state).pulls[:2]
    made = [(each, advice.Outcome(inches(at), Verdict.IN_BAND, True)) for each, at in ((one, "5/2"), (two, "3"))]
    (jump,) = jumps(made)
    assert jump.points == Fraction(1, 2) / 240 * 100


def test_cautions_say_that_least_and_most_are_of_one_part(forty: Talk) -> None:
    (told,) = [each.text for each in plan_of(forty.state).cautions if each.about == "reach"]
    assert told.endswith("2 parts of 20 ft; least, most and readings are of one part")


def test_older_logs_were_planned_otherwise(forty: Talk) -> None:
    """They called out the least of the whole span: with their plan's fingerprint, and before there were any."""
    plan = plan_of(forty.state)
    whole = replace(plan, passes=tuple(replace(each, pulls=tuple(map(as_before, each.pulls))) for each in plan.passes))
    assert whole.fingerprint != plan.fingerprint
    logged = [each for each in forty.events if not isinstance(each, ev.LayChosen)]
    (lay,) = [each for each in forty.events if isinstance(each, ev.LayChosen)]
    at = forty.events.index(lay)
    for known, otherwise in ((whole.fingerprint, True), ("", True), (plan.fingerprint, False)):
        events = [*logged[:at], replace(lay, plan=known), *logged[at:]]
        assert fold(events).otherwise is otherwise
    no_figure = begun("job one", "woven", *FORTY[2:]).state
    bare = replace(plan_of(no_figure), passes=tuple(
        replace(each, pulls=tuple(replace(one, build=None) for one in each.pulls)) for each in plan_of(no_figure).passes
    ))  # fmt: skip
    assert bare.fingerprint != plan_of(no_figure).fingerprint


def as_before(pull: Pull) -> Pull:
    return replace(pull, build=None, band=band(pull.span, DEFAULT_FIGURE, System.IMPERIAL))


@given(st.integers(24, 1200), st.integers(24, 1200))
def test_every_band_is_that_of_what_is_stretched_at_a_time(length: int, width: int) -> None:
    """Law: parts times what is stretched is the span, and what is stretched is within the kit's reach."""
    job = replace(plan_of(begun(*FORTY).state).job, kit=Kit())
    room = replace(job.room, length=inches(length), width=inches(width))
    for pull in make_plan(replace(job, room=room)).pulls:
        assert pull.stretched * pull.parts == pull.span
        assert pull.band == band(pull.stretched, DEFAULT_FIGURE, System.IMPERIAL)
        (build,) = builds(Kit(), [pull.stretched])
        assert pull.parts == 1 or isinstance(build, Build)
        assert pull.parts == 1 or (isinstance(pull.build, Shortage) and pull.build.each == build)
