"""Heads along a wall of stretches: laws, and an exhaustive search that knows nothing of the core's one.

The search stands here: it tries heads on a quarter-inch grid, head by head. Barred places begin and end on the half
inch and so does everything else, hence no layout is lost to the grid: shift a legal one's heads, from the first on, as
far left as they go, and each comes to stand on the grid.
"""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from assistant.core.ground import Bar, good, nearest
from assistant.core.layout import HeadRule, Yielded, lay_out
from assistant.core.length import ZERO, Length, System, feet, inches, millimetres
from assistant.core.wall_layout import Remark, WallLayout, lay_out_wall

RULE = HeadRule()
PER_INCH = 4
"""Of the grid of the search."""
HEAD, LEAST, MOST = 15 * PER_INCH, 3 * PER_INCH, 4 * PER_INCH

Bars = tuple[tuple[int, int], ...]
"""Barred from ... to ..., half inches, ends excluded."""


def barred_by(bars: Bars) -> list[Bar]:
    return [Bar(Fraction(low, 2), Fraction(high, 2), "doorway") for low, high in bars]


def can_stand(length: int, count: int, spoiled: int, bars: Bars) -> bool:
    """Exhaustively: do `count` heads fit legally on `length` grid steps, at most `spoiled` of them barred?"""

    def bad(at: int) -> int:
        return any(low < Fraction(2 * at, PER_INCH) < high for low, high in bars)

    half = HEAD // 2
    now = {(at, bad(at)) for at in range(half, half + MOST + 1)}
    for _ in range(count - 1):
        steps = range(HEAD + LEAST, HEAD + MOST + 1)
        now = {(at + step, n + bad(at + step)) for at, n in now if n <= spoiled for step in steps}
    return any(n <= spoiled and 0 <= length - half - at <= MOST for at, n in now)


def fewest_that_stand(length: int) -> int | None:
    """Fewest heads with every gap legal, bars or no."""
    counts = range(1, length // HEAD + 1)
    return next((count for count in counts if can_stand(length, count, count, ())), None)


def legal(places: list[Length], start: Length, end: Length) -> None:
    """Inside the stretch, gaps in the rule, ends within one gap."""
    half = RULE.width * Fraction(1, 2)
    assert ZERO <= places[0] - half - start <= RULE.gap_most
    assert ZERO <= end - half - places[-1] <= RULE.gap_most
    for one, two in pairwise(places):
        assert RULE.gap_least <= two - one - RULE.width <= RULE.gap_most


walls = st.integers(30, 290).map(lambda halves: inches(Fraction(halves, 2)))
bars = st.lists(st.tuples(st.integers(0, 290), st.integers(1, 40)).map(lambda bar: (bar[0], sum(bar))), max_size=3).map(
    tuple
)


@settings(max_examples=300, deadline=None)
@given(walls, bars)
@example(inches(213), ((16, 24),))
@example(inches(60), ((30, 40),))
@example(inches(76), ((15, 17), (50, 60)))
def test_finds_a_layout_wherever_there_is_one(wall: Length, bad: Bars) -> None:
    """Against exhaustive search: as few pulls, and as few bad tails, as can be."""
    layout = lay_out_wall([(ZERO, wall)], RULE, barred_by(bad))
    length = int(wall.inches * PER_INCH)
    fewest = fewest_that_stand(length)
    assert (fewest is None) == (layout.yielded is not Yielded.NONE)
    if fewest is None:
        assert [each.centre for each in layout.places] == list(lay_out(wall).centres)
        return
    legal([each.centre for each in layout.places], ZERO, wall)
    flagged = sum(bool(each.flag) for each in layout.places)
    if can_stand(length, fewest, 0, bad):
        assert (len(layout.places), flagged) == (fewest, 0)
    elif can_stand(length, fewest + 1, 0, bad):
        assert (len(layout.places), flagged) == (fewest + 1, 0)
        assert [each.remark for each in layout.notes] == [Remark.ONE_MORE]
    else:
        assert len(layout.places) == fewest
        assert flagged == next(n for n in range(1, fewest + 1) if can_stand(length, fewest, n, bad))


@st.composite
def strips(draw: st.DrawFn) -> list[tuple[Length, Length]]:
    """One to four stretches apart from each other, to the sixteenth or the millimetre."""
    unit = draw(st.sampled_from([inches("1/16"), millimetres(1)]))
    most = int(feet(12).per(unit))
    at, found = draw(st.integers(0, most)), []
    for _ in range(draw(st.integers(1, 4))):
        size, hole = draw(st.integers(1, most)), draw(st.integers(1, most))
        found.append((unit * at, unit * (at + size)))
        at += size + hole
    return found


@settings(max_examples=200, deadline=None)
@given(strips(), bars, st.booleans())
def test_laws_of_any_wall(strip: list[tuple[Length, Length]], bad: Bars, reverse: bool) -> None:
    barred = barred_by(bad)
    layout = lay_out_wall(strip, RULE, barred, reverse)
    assert layout == lay_out_wall(strip, RULE, barred, reverse)
    centres = [each.centre for each in layout.places]
    assert centres == sorted(centres, reverse=reverse)
    for each in layout.places:
        spoiled = any(low < each.centre.inches * 2 < high for low, high in bad)
        assert each.flag == ("doorway" if spoiled else "")
    half = RULE.width * Fraction(1, 2)
    for start, end in strip:
        inside = sorted(at for at in centres if start + half <= at <= end - half)
        centres = [at for at in centres if at not in inside]
        remarks = {each.remark for each in layout.notes if (each.start, each.end) == (start, end)}
        assert (not inside) == (end - start < RULE.width) == (Remark.TOO_SHORT in remarks)
        if inside and not remarks & {Remark.GAP_OVER, Remark.GAP_UNDER}:
            legal(inside, start, end)
    assert not centres, "a head beyond every stretch"


@settings(max_examples=200, deadline=None)
@given(strips(), bars, st.booleans())
def test_the_mirrored_wall_has_the_mirrored_places(
    strip: list[tuple[Length, Length]], bad: Bars, reverse: bool
) -> None:
    barred, end = barred_by(bad), strip[-1][1]
    layout = lay_out_wall(strip, RULE, barred, reverse)
    other_way = [Bar(end.inches - each.high, end.inches - each.low, each.why) for each in barred]
    mirrored = [(end - high, end - low) for low, high in reversed(strip)]
    other = lay_out_wall(mirrored, RULE, other_way, not reverse)
    assert [end - each.centre for each in other.places] == [each.centre for each in layout.places]
    assert [(each.flag, each.moved) for each in other.places] == [(each.flag, each.moved) for each in layout.places]
    assert (other.gap, other.yielded) == (layout.gap, layout.yielded)


@settings(deadline=None)
@given(strips())
def test_without_bars_the_start_corner_moves_nothing(strip: list[tuple[Length, Length]]) -> None:
    one, two = lay_out_wall(strip), lay_out_wall(strip, reversed=True)
    assert one.places == two.places[::-1]
    assert not any(each.moved or each.flag for each in one.places)


def test_one_stretch_without_bars_is_lay_out() -> None:
    layout = lay_out_wall([(feet(1), feet(13))])
    assert [each.centre - feet(1) for each in layout.places] == list(lay_out(feet(12)).centres)
    assert (layout.gap, layout.yielded, layout.notes) == (inches(3), Yielded.NONE, ())


def test_a_doorway_splits_the_wall() -> None:
    """16 ft of wall, a 3 ft doorway from 5 ft on: three pulls before it, five after it, none in it."""
    layout = lay_out_wall([(ZERO, feet(5)), (feet(8), feet(16))])
    assert len([each for each in layout.places if each.centre <= feet(5) - inches("15/2")]) == 3
    assert len([each for each in layout.places if each.centre >= feet(8) + inches("15/2")]) == 5
    assert len(layout.places) == 8


def test_a_barred_pull_moves_no_further_than_it_must() -> None:
    """Four heads on 70 in stand at 8, 26, 44, 62; nothing may stand between 43 and 44 1/2 in."""
    layout = lay_out_wall([(ZERO, inches(70))], RULE, barred_by(((86, 89),)))
    assert [each.centre for each in layout.places] == [inches(8), inches(26), inches("89/2"), inches("125/2")]
    assert [each.moved for each in layout.places] == [False, False, True, True]


def test_a_barred_pull_that_cannot_move_stays_and_is_flagged() -> None:
    layout = lay_out_wall([(ZERO, inches(70))], RULE, barred_by(((70, 100),)))
    assert [each.centre for each in layout.places] == [inches(8), inches(26), inches(44), inches(62)]
    assert [each.flag for each in layout.places] == ["", "", "doorway", ""]
    assert not any(each.moved for each in layout.places)


def test_one_head_more_where_the_fewest_cannot_dodge() -> None:
    """17 ft 9 in take 11 heads; with 8 to 12 in barred only 12 all stand well."""
    plain, layout = (lay_out_wall([(ZERO, inches(213))], RULE, barred_by(bad)) for bad in ((), ((16, 24),)))
    assert (len(plain.places), len(layout.places)) == (11, 12)
    assert [each.remark for each in layout.notes] == [Remark.ONE_MORE]
    assert not any(each.flag for each in layout.places)


def test_a_strip_without_stretches_has_no_pull() -> None:
    assert lay_out_wall([]) == WallLayout((), (), ZERO, Yielded.NONE)


@pytest.mark.parametrize(
    ("strip", "words", "yielded"),
    [
        ([(ZERO, inches(14))], ["from 0 in to 1 ft 2 in: too short for the head"], Yielded.NONE),
        (
            [(inches(2), inches(26)), (inches(60), inches("183/2"))],
            [
                "from 2 in to 2 ft 2 in: no even layout fits: gaps of 4 1/2 in beside the heads",
                "from 5 ft to 7 ft 7 1/2 in: no even layout fits: heads only 1 1/2 in apart",
            ],
            Yielded.GAP_UNDER,
        ),
    ],
)
def test_what_gave_way_is_said(strip: list[tuple[Length, Length]], words: list[str], yielded: Yielded) -> None:
    layout = lay_out_wall(strip)
    assert [each.words(System.IMPERIAL) for each in layout.notes] == words
    assert layout.yielded is yielded


@settings(deadline=None)
@given(walls)
def test_where_no_rule_can_be_kept_the_violation_is_the_least(wall: Length) -> None:
    """Every count by brute force: its best row has equal gaps; the larger count wins a tie."""
    layout = lay_out_wall([(ZERO, wall)])
    if layout.yielded is Yielded.NONE or not layout.places:
        return
    broken = {}
    for count in range(1, int(wall.per(RULE.width)) + 1):
        free = wall - RULE.width * count
        over = free * Fraction(1, count + 1) - RULE.gap_most
        under = RULE.gap_least - free * Fraction(1, count - 1) if count > 1 else ZERO
        broken[count] = max(over, under)
    chosen = len(layout.places)
    assert max(layout.gap - RULE.gap_most, RULE.gap_least - layout.gap) == broken[chosen]
    assert all(broken[chosen] < each if count > chosen else broken[chosen] <= each for count, each in broken.items())


def test_a_barred_speck_is_avoided() -> None:
    """Its first head would stand exactly on a single barred place: it moves by one sixteenth or less."""
    wall = inches(77)
    first = lay_out(wall).centres[0]
    assert first == inches("109/10")
    places = lay_out_wall([(ZERO, wall)], RULE, [Bar(first.inches, first.inches, "reflex")]).places
    assert [each.flag for each in places] == [""] * 4
    assert places[0].moved
    assert abs((places[0].centre - first).inches) <= Fraction(1, 16)


def test_the_ends_of_a_bar_are_sound_and_a_bar_of_one_place_is_that_place() -> None:
    bars = [
        Bar(Fraction(3), Fraction(6), "hearth"),
        Bar(Fraction(19, 2), Fraction(23, 2), ""),
        Bar(Fraction(20), Fraction(20), ""),
    ]
    assert good(bars, (0, 30)) == [(0, 3), (6, 9), (12, 19), (21, 30)]
    assert good([Bar(Fraction(41, 2), Fraction(41, 2), "")], (0, 30)) == [(0, 30)], "no unit lies on it"
    assert good([Bar(Fraction(-5), Fraction(40), "")], (0, 30)) == []


def test_of_bars_that_overlap_the_first_is_told() -> None:
    bars = [Bar(Fraction(0), Fraction(50), "hearth"), Bar(Fraction(0), Fraction(90), "doorway")]
    assert [each.flag for each in lay_out_wall([(ZERO, inches(70))], RULE, bars).places] == ["hearth"] * 3 + ["doorway"]


def test_of_two_places_as_near_the_one_next_to_the_start_corner_is_taken() -> None:
    assert nearest([(0, 2), (6, 8)], 4) == 2
    assert nearest([(0, 2), (5, 8)], 4) == 5
    assert nearest([(0, 2), (3, 8)], 4) == 4
