"""Plans: every place of both layouts exactly once, spans, walls, bands, cautions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.band import DEFAULT_FIGURE, Figure, band
from assistant.core.layout import HeadRule, lay_out
from assistant.core.length import Length, System, feet, inches, millimetres
from assistant.core.order import Direction, Order, Part, PassRule
from assistant.core.plan import Figures, Job, Plan, make_plan
from assistant.core.room import Axis, Corner, Room, Wall

CROSS, LENGTH = Direction.CROSS, Direction.LENGTH
TIE, REST = Part.TIE_OFF, Part.REST
DEFAULTS = Figures(dict.fromkeys(Direction, DEFAULT_FIGURE))


def order(*passes: tuple[Direction, Part]) -> Order:
    return Order("ours", tuple(PassRule(*each) for each in passes))


CROSS_LENGTH_CROSS = order((CROSS, TIE), (LENGTH, REST), (CROSS, REST))
ORDERS = [
    CROSS_LENGTH_CROSS,
    order((LENGTH, REST), (CROSS, REST)),
    order((LENGTH, TIE), (CROSS, TIE), (CROSS, REST), (LENGTH, REST)),
]


def plan(
    length: Length,
    width: Length,
    *,
    lay: Axis = Axis.DOOR_TO_FAR,
    corner: Corner = Corner.DOOR_LEFT,
    figures: Figures = DEFAULTS,
    sequence: Order = CROSS_LENGTH_CROSS,
    system: System = System.IMPERIAL,
) -> Plan:
    return make_plan(Job(Room(length, width, system), corner, lay, figures, sequence))


sides = st.integers(24, 1200).map(inches) | st.integers(600, 30480).map(millimetres)


@given(sides, sides, st.sampled_from(Axis), st.sampled_from(Corner), st.sampled_from(ORDERS), st.sampled_from(System))
def test_every_place_of_both_layouts_exactly_once(
    length: Length, width: Length, lay: Axis, corner: Corner, sequence: Order, system: System
) -> None:
    found = plan(length, width, lay=lay, corner=corner, sequence=sequence, system=system)
    assert [each.number for each in found.pulls] == list(range(1, len(found.pulls) + 1))
    assert [each.number for each in found.passes] == list(range(1, len(found.passes) + 1))
    assert all(each.pulls for each in found.passes)
    room = found.job.room
    for direction in Direction:
        axis = lay if direction is LENGTH else lay.other
        row = [each for each in found.pulls if each.direction is direction]
        assert tuple(each.position for each in row) == lay_out(room.span(axis.other)).centres
        for pull in row:
            assert (pull.axis, pull.span, pull.wall) == (axis, room.span(axis), corner.walls[axis].opposite)
            assert pull.band == band(pull.span, DEFAULT_FIGURE, system)
            assert abs(pull.called_position.inches - pull.position.inches) * 2 <= system.position_step.inches
            assert pull in found.pass_of(pull).pulls
    assert found == plan(length, width, lay=lay, corner=corner, sequence=sequence, system=system)


def test_tie_off_ends_at_its_run() -> None:
    """36 in run [practice]: of the 8 heads along 14 1/2 ft those centred within 36 in come first."""
    tie, length, rest = plan(feet(14, 6), feet(12)).passes
    assert all(each.position <= inches(36) for each in tie.pulls)
    assert rest.pulls[0].position > inches(36)
    assert [each.rule.part for each in (tie, length, rest)] == [TIE, REST, REST]
    assert {each.direction for each in length.pulls} == {LENGTH}


def test_a_small_room_has_no_empty_pass() -> None:
    """Both cross pulls lie within the tie-off run: nothing is left to finish."""
    found = plan(feet(3), feet(8))
    assert [each.rule.direction for each in found.passes] == [CROSS, LENGTH]


def test_tie_off_takes_at_least_one_pull() -> None:
    """A wide head may stand with its centre beyond the run."""
    room = Room(feet(20), feet(12), System.IMPERIAL)
    wide = HeadRule(inches(80), inches(3), inches(4))
    job = Job(room, Corner.DOOR_LEFT, Axis.DOOR_TO_FAR, DEFAULTS, CROSS_LENGTH_CROSS, wide)
    tie = make_plan(job).passes[0]
    assert len(tie.pulls) == 1
    assert tie.pulls[0].position > inches(36)


def test_lay_turns_the_carpet() -> None:
    along, across = plan(feet(16), feet(12)), plan(feet(16), feet(12), lay=Axis.LEFT_TO_RIGHT)
    assert {each.wall for each in along.pulls if each.direction is LENGTH} == {Wall.FAR}
    assert {each.wall for each in across.pulls if each.direction is LENGTH} == {Wall.RIGHT}
    assert {each.span for each in across.pulls if each.direction is LENGTH} == {feet(12)}


def abouts(found: Plan) -> list[tuple[str, str]]:
    return [(each.about, each.source) for each in found.cautions]


def test_an_ordinary_room_has_no_cautions() -> None:
    assert plan(feet(16), feet(12)).cautions == ()


def test_wide_strip_over_thirty_feet() -> None:
    """CRI 105 s.11.1 [published]: spans over 30 ft."""
    assert plan(feet(30), feet(12)).cautions == ()
    found = plan(feet(30, "1/16"), feet(12))
    assert abouts(found) == [("wide strip", "CRI 105 s.11.1")]
    assert "30 ft 1/16 in is over 30 ft" in found.cautions[0].text


@pytest.mark.parametrize(
    ("wall", "about", "text"),
    [
        (inches(28), "layout: gap_over", "gaps of 6 1/2 in beside the heads"),
        (inches(32), "layout: gap_under", "heads only 2 in apart"),
    ],
)
def test_a_layout_rule_that_gave_way_is_told(wall: Length, about: str, text: str) -> None:
    (caution,) = plan(wall, feet(12)).cautions
    assert caution.about == about
    assert caution.text.startswith("right wall: from 0 in to ") and text in caution.text


def test_a_wall_shorter_than_the_head_is_told() -> None:
    found = plan(inches(14), feet(12))
    assert [each.text for each in found.cautions] == ["right wall: from 0 in to 1 ft 2 in: too short for the head"]
    assert {each.direction for each in found.pulls} == {LENGTH}


def test_no_figure_no_verdict() -> None:
    found = plan(feet(16), feet(12), figures=Figures({LENGTH: DEFAULT_FIGURE, CROSS: None}))
    assert [each.about for each in found.cautions] == ["no verdict"]
    assert {each.band is None for each in found.pulls if each.direction is CROSS} == {True}
    assert {each.band is None for each in found.pulls if each.direction is LENGTH} == {False}
    assert Figures({}).of(CROSS) is None


def test_an_empty_band_is_told() -> None:
    narrow = Figure(Fraction(1), Fraction("1.01"), from_maker=True)
    found = plan(feet(16), feet(12), figures=Figures({LENGTH: DEFAULT_FIGURE, CROSS: narrow}))
    assert [each.about for each in found.cautions] == ["empty band"]
    assert "12 ft" in found.cautions[0].text
