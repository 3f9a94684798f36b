"""Deadman splits: fewest equal parts within reach."""

from hypothesis import given
from hypothesis import strategies as st

from assistant.core.band import Figure, band
from assistant.core.deadman import MIDDLE, Split, split
from assistant.core.kit import Build, Kit, Tube
from assistant.core.length import System, feet, inches
from assistant.core.tubes import builds

SHORT = Kit(tubes=(Tube(feet(4), 4), Tube(feet(2), 1), Tube(feet(1), 1)))
"""Reaches about 24 ft."""


def test_the_head_stands_in_the_middle_of_its_working_range() -> None:
    """2 to 3 in: common practice, no published source."""
    assert inches("5/2") == MIDDLE


def test_47_ft_with_4_in_to_correct_are_two_of_23_and_a_half_with_2_in_each() -> None:
    """Floor Covering Installer [published]."""
    found = split(feet(47), SHORT)
    assert found == Split(feet(47), 2)
    assert found.part == feet(23, 6)
    four = Figure(inches(4).per(feet(47)) * 100, None, from_maker=True)
    assert band(found.part, four, System.IMPERIAL).least == inches(2)
    assert found.boards == (feet(23, 6),)


def test_a_span_within_reach_is_one_part_without_boards() -> None:
    found = split(feet(20), SHORT)
    assert found == Split(feet(20), 1)
    assert found.boards == ()


def test_boards_are_told_from_the_middle_outwards() -> None:
    assert Split(feet(80), 4).boards == (feet(40), feet(20), feet(60))
    assert Split(feet(90), 5).boards == (feet(36), feet(54), feet(18), feet(72))


def test_parts_may_be_too_short_before_one_can_be_reached() -> None:
    rigid = Kit(tubes=(Tube(feet(20), 1),), extension_most=inches(18))
    assert split(feet(14), rigid) is None
    assert split(inches(20), rigid) is None


@given(st.integers(10, 2000), st.integers(16, 48))
def test_fewest_parts_and_every_part_can_be_built(span: int, distance: int) -> None:
    """Law: the parts add up, each has a build, and no smaller number of parts has one."""
    off = inches("1/16") * distance
    found = split(inches(span), SHORT, off)
    tried = range(1, 60 if found is None else found.parts)
    assert not [n for n in tried if isinstance(builds(SHORT, [Split(inches(span), n).part], off)[0], Build)]
    if found is not None:
        assert found.part * found.parts == inches(span)
        assert isinstance(builds(SHORT, [found.part], off)[0], Build)
